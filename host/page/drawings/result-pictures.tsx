/** What sets of readings came to, each drawing under its name: before and after, from the side, swath, gap under the skirt. */
import type { ComponentChildren } from 'preact';
import type { Comparison } from '../../views/comparison';
import type { SidePicture } from '../../views/side-picture';
import type { SkirtGap } from '../../views/skirt-gap';
import type { Swath } from '../../views/swath';
import { BeforeAfter } from './before-after';
import type { Drawn } from './sheet-of-paper';
import { SideView } from './side-view';
import { SkirtOutline } from './skirt-outline';
import { SwathProfile } from './swath-profile';

interface ResultPicturesProps extends Drawn {
  readonly comparison: Comparison | null;
  readonly side: SidePicture | null;
  readonly swath: Swath | null;
  readonly swathBefore: Swath | null;
  readonly skirtGap: SkirtGap | null;
}

export function ResultPictures({ comparison, side, swath, swathBefore, skirtGap, say }: ResultPicturesProps) {
  return (
    <div class="pictures">
      {comparison !== null && (
        <Named name="Measures">
          <BeforeAfter title="Measures" rows={comparison.measures} say={say} />
          <p class="hint">
            Square: as it came. Disc: now. Bars: ± U (k = 2). Band: limits. Dots: what is aimed at.
          </p>
        </Named>
      )}
      {comparison !== null && (
        <Named name="Heights of the tips">
          <BeforeAfter title="Heights of the tips" rows={comparison.tips} say={say} />
        </Named>
      )}
      {side !== null && (
        <Named name="From the left">
          <SideView picture={side} say={say} />
        </Named>
      )}
      {swath !== null && (
        <Named name="Swath, by geometry">
          <SwathProfile now={swath} {...(swathBefore === null ? {} : { before: swathBefore })} say={say} />
        </Named>
      )}
      {skirtGap !== null && (
        <Named name="Gap under the skirt">
          <SkirtOutline gap={skirtGap} say={say} />
        </Named>
      )}
    </div>
  );
}

function Named({ name, children }: { name: string; children: ComponentChildren }) {
  return (
    <section>
      <h2>{name}</h2>
      {children}
    </section>
  );
}
