/** The deck from the left, front at the left, with its rake exaggerated: ground, wheels, limits of the cut height, plane. */
import type { SidePicture } from '../../views/side-picture';
import { Word } from './deck-from-above';
import { Drawing, path, rounded, type Drawn } from './sheet-of-paper';

const MARGIN = 30;
const LETTER = 20;
/** Between the lowest height drawn and the ground: the gap is cut short. */
const FOOT = 56;
const WHEEL = 20;

export function SideView({ picture, say }: { picture: SidePicture } & Drawn) {
  const { box, factor, wheelXs, wanted, limits, now, before, tips } = picture;
  const top = 2.4 * LETTER;
  const ground = top + box.height + FOOT;
  const width = box.width + 2 * MARGIN;
  const factorText = `${Number(factor.toPrecision(2))}`;
  return (
    <Drawing
      name="side-view"
      title={`The deck from the left, front at the left, heights drawn ${factorText} times as large as lengths. Front ${say(now.frontHeightMm)}, rear ${say(now.rearHeightMm)}, wanted cut height ${say(wanted.heightMm)}.`}
      viewBox={[0, 0, width, ground + 2.2 * LETTER]}
    >
      <Word
        x={MARGIN}
        y={LETTER}
        size={LETTER}
        text={`front ${say(now.frontHeightMm)}`}
        anchor="start"
        name="strong"
      />
      <Word
        x={width - MARGIN}
        y={LETTER}
        size={LETTER}
        text={`rear ${say(now.rearHeightMm)}`}
        anchor="end"
        name="strong"
      />
      <g transform={`translate(${MARGIN} ${rounded(top)})`}>
        {limits && (
          <g class="limits">
            <rect
              x={-MARGIN / 2}
              y={rounded(limits.top)}
              width={box.width + MARGIN}
              height={rounded(limits.bottom - limits.top)}
            />
            {[limits.top, limits.bottom].map((y) => (
              <path
                key={y}
                class="line"
                d={path([
                  [-MARGIN / 2, y],
                  [box.width + MARGIN / 2, y],
                ])}
              />
            ))}
          </g>
        )}
        <path
          class="line dots"
          d={path([
            [-MARGIN / 2, wanted.y],
            [box.width + MARGIN / 2, wanted.y],
          ])}
        />
        {before && (
          <path
            class="line dashes"
            d={path([
              [before.x1, before.y1],
              [before.x2, before.y2],
            ])}
          />
        )}
        <path
          class="line thick"
          d={path([
            [now.x1, now.y1],
            [now.x2, now.y2],
          ])}
        />
        {tips.map((t, i) => (
          <g key={i} class="tip">
            <path
              class="line"
              d={path([
                [t.x, t.top],
                [t.x, t.bottom],
              ])}
            />
            <circle class="ring" cx={rounded(t.x)} cy={rounded(t.y)} r={5} />
          </g>
        ))}
        <path class="line faint" d={cut(box.width / 2, box.height + 16)} />
        {wheelXs.map((x) => (
          <circle key={x} class="wheel" cx={rounded(x)} cy={rounded(ground - top - WHEEL)} r={WHEEL} />
        ))}
      </g>
      <path
        class="line thick"
        d={path([
          [0, ground],
          [width, ground],
        ])}
      />
      <Word
        x={width / 2}
        y={ground + 1.4 * LETTER}
        size={0.85 * LETTER}
        text={`heights × ${factorText}; gap to the ground cut short`}
        name="faint"
      />
    </Drawing>
  );
}

/** The two broken lines of a drawing that is cut short. */
function cut(x: number, y: number): string {
  return [0, 7]
    .map((down) =>
      path([
        [x - 60, y + down],
        [x - 12, y + down],
        [x - 5, y + down - 9],
        [x + 5, y + down + 9],
        [x + 12, y + down],
        [x + 60, y + down],
      ]),
    )
    .join('');
}
