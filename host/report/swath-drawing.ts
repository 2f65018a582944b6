/** Page 2: the swath profile as it came and as it leaves, and the gaps under the skirt. Geometry, and it says so. */
import type { SkirtGap } from '../views/skirt-gap';
import type { SheetView } from '../views/sheet-view';
import type { Swath } from '../views/swath';
import { INK, leading, SMALL, type Paper, type Point } from './paper';
import type { Frame } from './tip-map';
import { lastReadText } from './work';

/** Height of the curve's own box. */
const BOX = 64;
const LINES = 5;
export const SWATH_HEIGHT = BOX + (LINES + 1) * leading(SMALL) + 8;

/** Draws nothing and returns false when the last readings give no swath. */
export function drawSwath(paper: Paper, view: SheetView, frame: Frame): boolean {
  const leaves = view.stages.at(-1)?.swath;
  if (leaves === undefined) return false;
  const came = view.stages.length > 1 ? view.stages[0]?.swath : undefined;
  paper.figure(`Swath profile, seen from behind. ${swathLines(leaves).join(' ')}`, () => {
    const both = [leaves, ...(came === undefined ? [] : [came])];
    const heights = both.flatMap((s) => s.points.map((p) => p.heightMm));
    const [low, high] = [Math.min(...heights), Math.max(...heights)];
    const ys = leaves.points.map((p) => p.yMm);
    const [right, left] = [Math.min(...ys), Math.max(...ys)];
    const perMm = BOX / Math.max(4, high - low);
    const top = frame.y + leading(SMALL) + 2;
    // Seen from behind, the machine's left is on the left of the paper.
    const at = ({ yMm, heightMm }: { yMm: number; heightMm: number }): Point => [
      frame.x + ((left - yMm) / (left - right)) * frame.width,
      top + BOX - (heightMm - low) * perMm,
    ];
    paper.line(`left, ${high.toFixed(1)} mm at the top`, frame.x, frame.y, frame.width / 2, { size: SMALL });
    paper.line('right', frame.x + frame.width / 2, frame.y, frame.width / 2, { size: SMALL, align: 'right' });
    const base = top + BOX;
    paper.stroke(
      [
        [frame.x, base],
        [frame.x + frame.width, base],
      ],
      { ink: INK.grey, width: 0.5 },
    );
    if (came !== undefined) paper.stroke(came.points.map(at), { ink: INK.grey, dash: 3, width: 0.8 });
    paper.stroke(leaves.points.map(at), { width: 1.4 });
    const text = [
      `Thick: ${lastReadText(view)}${came === undefined ? '' : '; dashes: as it came'}. Line at the foot: ${low.toFixed(1)} mm.`,
      ...swathLines(leaves),
    ];
    text.forEach((line, i) =>
      paper.line(line, frame.x, base + 4 + i * leading(SMALL), frame.width, { size: SMALL }),
    );
  });
  return true;
}

/** The numbers of a swath in sentences. */
export function swathLines(swath: Swath): string[] {
  const worst = swath.steps.reduce((a, b) => (b.mm > a.mm ? b : a), { mm: 0, yMm: 0, of: '' });
  const step =
    worst.mm < 0.05
      ? 'No step where blades overlap.'
      : `Greatest step where blades overlap: ${worst.mm.toFixed(1)} mm, at the edge of the ${worst.of} blade.`;
  const { betweenPasses: passes } = swath;
  return [
    `Geometric, from the blade circles: mean ${swath.meanMm.toFixed(1)} mm over ${swath.widthMm.toFixed(0)} mm, RMS ${swath.rmsMm.toFixed(2)} mm.`,
    step,
    passes === undefined
      ? 'The profile gives no overlap between passes.'
      : `Step between passes that overlap by ${passes.overlapMm} mm: ${passes.sameWayMm.toFixed(1)} mm the same way, ${passes.returningMm.toFixed(1)} mm coming back.`,
  ];
}

/** "left: 58.2 to 60.1 mm", and what the air gets. */
export function skirtLines(gap: SkirtGap): string[] {
  return [
    ...gap.sides.map((s) => `${s.side}: ${s.leastMm.toFixed(1)} to ${s.greatestMm.toFixed(1)} mm`),
    `sides and rear together: ${(gap.airAreaMm2 / 100).toFixed(0)} cm² for make-up air, uneven by ${gap.unevenMm.toFixed(1)} mm`,
  ];
}
