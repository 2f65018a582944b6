/** The deck from the left with the rake exaggerated: ground, wanted cut height, plane as it came and as it leaves, tips. */
import { outermostTips, sideLine, type SideLine } from '../views/deck-drawing';
import { sideScale, type SideScale } from '../views/side-picture';
import type { SheetView } from '../views/sheet-view';
import type { StageView, TipRow } from '../views/stage-view';
import { withUncertainty } from '../views/words';
import { INK, leading, SMALL, type Paper, type Point } from './paper';
import type { Frame } from './tip-map';
import { lastReadText } from './work';

const TIPS_NAMED = 3;
/** Tallest that the heights are drawn, so that the picture still reads as a deck. */
const TALLEST = 60;
/** Between the lowest height and the ground: wheels and the break. */
const FOOT = 26;

/** Lines of text under the drawing. */
const LEGEND_LINES = 4;

/** Height that the drawing takes at most. */
export const SIDE_HEIGHT = (1 + TIPS_NAMED + LEGEND_LINES) * leading(SMALL) + TALLEST + FOOT + 10;

export function drawSideView(paper: Paper, view: SheetView, frame: Frame): void {
  const came = view.stages[0];
  const leaves = view.stages.at(-1);
  if (leaves === undefined) {
    paper.paragraph('No complete set of readings: nothing to draw.', frame.x, frame.y, frame.width, {
      ink: INK.grey,
    });
    return;
  }
  const tips = leaves.tips;
  const named = (['front', 'rear'] as const).map((end) => outermostTips(tips, end).map((t) => tipName(t)));
  paper.figure(`Deck from the left. Front: ${named[0]?.join(', ')}. Rear: ${named[1]?.join(', ')}.`, () => {
    drawNames(paper, named, frame);
    const before = view.stages.length > 1 && came !== undefined ? came : undefined;
    const top = frame.y + (1 + TIPS_NAMED) * leading(SMALL) + 4;
    const lowest = frame.y + frame.height - LEGEND_LINES * leading(SMALL) - 4;
    const bottom = Math.min(lowest, top + TALLEST + FOOT);
    const scale = scaleIn(view, [leaves, ...(before === undefined ? [] : [before])], {
      ...frame,
      y: bottom - FOOT - Math.min(TALLEST, bottom - FOOT - top),
      height: Math.min(TALLEST, bottom - FOOT - top),
    });
    drawGround(paper, view, scale, bottom, frame);
    const wanted = scale.y(view.profile.cutHeightMm);
    paper.stroke(
      [
        [frame.x, wanted],
        [frame.x + frame.width, wanted],
      ],
      { ink: INK.grey, dash: 1.2 },
    );
    if (before !== undefined)
      drawPlane(paper, sideLine(view.profile, before), scale, { ink: INK.grey, dash: 4, width: 1 });
    drawPlane(paper, sideLine(view.profile, leaves), scale, { width: 1.6 });
    for (const tip of tips) drawTip(paper, tip, scale);
    legendLines(view, before !== undefined, scale.factor).forEach((text, i) => {
      paper.line(text, frame.x, bottom + 5 + i * leading(SMALL), frame.width, { size: SMALL });
    });
  });
}

function tipName(tip: TipRow): string {
  return `${tip.spindle} ${withUncertainty(tip.heightMm, tip.expandedMm)}`;
}

function drawNames(paper: Paper, named: readonly (readonly string[])[], frame: Frame): void {
  const half = frame.width / 2 - 3;
  (['front', 'rear'] as const).forEach((end, side) => {
    const x = side === 0 ? frame.x : frame.x + frame.width - half;
    const align = side === 0 ? 'left' : 'right';
    paper.line(side === 0 ? 'front' : 'rear', x, frame.y, half, {
      size: SMALL,
      bold: true,
      ink: INK.grey,
      align,
    });
    const names = named[side] ?? [];
    const shown =
      names.length <= TIPS_NAMED
        ? names
        : [...names.slice(0, TIPS_NAMED - 1), `${names.length - TIPS_NAMED + 1} more ${end} tips`];
    shown.forEach((text, i) =>
      paper.line(text, x, frame.y + (i + 1) * leading(SMALL), half, { size: SMALL, align }),
    );
  });
}

/** The scale of the picture, moved into its frame on the paper. */
function scaleIn(view: SheetView, stages: readonly StageView[], frame: Frame): SideScale {
  const box = { width: frame.width - 36, height: frame.height };
  const { factor, x, y } = sideScale(view.profile, stages, box);
  return { factor, x: (xMm) => frame.x + 18 + x(xMm), y: (heightMm) => frame.y + y(heightMm) };
}

/** Ground with the wheels that stand on it, and the break between the shortened foot of the drawing and the heights. */
function drawGround(paper: Paper, view: SheetView, scale: SideScale, bottom: number, frame: Frame): void {
  for (const xMm of new Set(view.profile.wheels.map((w) => w.xMm))) {
    paper.circle(scale.x(xMm), bottom - 8, 8, { fill: INK.tint, ink: INK.grey });
  }
  paper.stroke(
    [
      [frame.x, bottom],
      [frame.x + frame.width, bottom],
    ],
    { width: 1.2 },
  );
  for (let x = frame.x + 4; x < frame.x + frame.width; x += 8)
    paper.stroke(
      [
        [x, bottom],
        [x - 3, bottom + 3],
      ],
      { width: 0.4 },
    );
  const middle = frame.x + frame.width / 2;
  for (const shift of [0, 3]) {
    const y = bottom - 13 + shift;
    paper.stroke(
      [
        [middle - 22, y],
        [middle - 5, y],
        [middle - 2, y - 4],
        [middle + 2, y + 4],
        [middle + 5, y],
        [middle + 22, y],
      ],
      { width: 0.5 },
    );
  }
}

function drawPlane(
  paper: Paper,
  line: SideLine | undefined,
  scale: SideScale,
  style: { ink?: string; dash?: number; width: number },
): void {
  if (line === undefined) return;
  const points: Point[] = [
    [scale.x(line.frontXMm), scale.y(line.frontHeightMm)],
    [scale.x(line.rearXMm), scale.y(line.rearHeightMm)],
  ];
  paper.stroke(points, style);
}

function drawTip(paper: Paper, tip: TipRow, scale: SideScale): void {
  const x = scale.x(tip.xMm);
  paper.stroke(
    [
      [x, scale.y(tip.heightMm - tip.expandedMm)],
      [x, scale.y(tip.heightMm + tip.expandedMm)],
    ],
    { width: 0.5 },
  );
  paper.circle(x, scale.y(tip.heightMm), 1.9, { fill: INK.white, width: 0.8 });
}

function legendLines(view: SheetView, withBefore: boolean, factor: number): string[] {
  return [
    `Heights drawn ${Number(factor.toPrecision(2))} × lengths; gap to ground cut.`,
    withBefore
      ? `Thick: plane ${lastReadText(view)}; dashes: as it came.`
      : `Thick: plane ${lastReadText(view)}.`,
    'Rings: tips as read, with ± U.',
    `Dots: cut height wanted, ${view.profile.cutHeightMm} mm above ground.`,
  ];
}
