/** The deck from above, to scale, front up: blade circles, wheels, tips with height, uncertainty and a bar against their mean. */
import { extentOf, meanTipHeightMm, WHEEL_MM } from '../views/deck-drawing';
import type { SheetView } from '../views/sheet-view';
import type { TipRow } from '../views/stage-view';
import { withUncertainty } from '../views/words';
import { INK, leading, SMALL, type Paper } from './paper';

export interface Frame {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** Number of a tip, from 1, as map and table name it. */
export type NumberedTip = TipRow & { readonly number: number };

interface Placed {
  readonly tip: NumberedTip;
  /** The tip itself and the label's middle. */
  readonly x: number;
  readonly y: number;
  readonly labelX: number;
  readonly labelY: number;
  readonly labelWidth: number;
}

interface BarSize {
  readonly width: number;
  /** From the middle to either end. */
  readonly half: number;
}

const WIDE_BAR: BarSize = { width: 6, half: 9 };
/** The map takes the first size with which nothing overlaps. */
const BARS: readonly BarSize[] = [WIDE_BAR, { width: 5, half: 6.5 }];
const LABEL_HEIGHT = 17;
const KEY_RADIUS = 5.2;

/** What half a bar's frame stands for: the smallest whole number of mm that no tip exceeds. */
export function fullBarMm(tips: readonly TipRow[]): number {
  const mean = meanTipHeightMm(tips) ?? 0;
  const largest = Math.max(0, ...tips.map((t) => Math.abs(t.heightMm - mean)));
  return Math.max(1, Math.ceil(largest));
}

export function drawTipMap(paper: Paper, view: SheetView, tips: readonly NumberedTip[], frame: Frame): void {
  const legend = 3 * leading(SMALL);
  const map = {
    x: frame.x + 14,
    y: frame.y + 14,
    width: frame.width - 28,
    height: frame.height - legend - 28,
  };
  const place = scaleInto(view, map);
  const placedWith = (bar: BarSize) => tips.map((tip) => placeTip(paper, tip, bar, place));
  const bar = BARS.find((b) => !isCrowded(areasOf(placedWith(b), b)));
  const placed = placedWith(bar ?? WIDE_BAR);
  const areas = areasOf(placed, bar ?? WIDE_BAR);
  const alt = tips.map(
    (t) =>
      `${t.spindle} blade at ${t.headingDeg.toFixed(0)} degrees: ${withUncertainty(t.heightMm, t.expandedMm)}`,
  );
  paper.figure(`Deck from above, front up. ${alt.join('; ')}`, () => {
    drawDirections(paper, frame, map);
    for (const wheel of view.profile.wheels) drawWheel(paper, place, wheel);
    for (const spindle of view.profile.spindles) {
      const [x, y] = place.at(spindle.xMm, spindle.yMm);
      paper.circle(x, y, spindle.tipRadiusMm * place.ptPerMm, { width: 0.8 });
      const arm =
        areas.some((area) => doOverlap(area, { x, y, w: 5, h: 5 })) && bar !== undefined ? 0.8 : 2.5;
      paper.stroke([
        [x - arm, y],
        [x + arm, y],
      ]);
      paper.stroke([
        [x, y - arm],
        [x, y + arm],
      ]);
      if (bar !== undefined) drawName(paper, spindle.name, x, y, spindle.tipRadiusMm * place.ptPerMm, areas);
    }
    const mean = meanTipHeightMm(tips) ?? 0;
    const full = fullBarMm(tips);
    for (const p of placed) {
      if (bar === undefined) drawKey(paper, p);
      else {
        drawBar(paper, p.x, p.y, (p.tip.heightMm - mean) / full, bar);
        drawLabel(paper, p);
      }
    }
    drawLegend(paper, place.ptPerMm, tips, bar === undefined, {
      ...frame,
      y: frame.y + frame.height - legend,
      height: legend,
    });
  });
}

/** A frame with its middle at the mean: black upward for higher, white downward for lower. `share` of the half length. */
export function drawBar(paper: Paper, x: number, y: number, share: number, { width, half } = WIDE_BAR): void {
  const left = x - width / 2;
  const reach = Math.max(-1, Math.min(1, share)) * half;
  paper.box(left, y - half, width, 2 * half, { fill: INK.tint, ink: INK.pale, width: 0.4 });
  if (reach > 0) paper.box(left, y - reach, width, reach, { fill: INK.black, width: 0.6 });
  else paper.box(left, y, width, -reach, { fill: INK.white, width: 0.6 });
  paper.stroke(
    [
      [left - 2, y],
      [left + width + 2, y],
    ],
    { width: 0.8 },
  );
}

interface Place {
  readonly ptPerMm: number;
  at(xMm: number, yMm: number): [number, number];
}

function scaleInto(view: SheetView, map: Frame): Place {
  const extent = extentOf(view.profile);
  const frontXMm = extent.frontXMm + WHEEL_MM.length / 2;
  const rearXMm = extent.rearXMm - WHEEL_MM.length / 2;
  const leftYMm = extent.leftYMm + WHEEL_MM.width / 2;
  const rightYMm = extent.rightYMm - WHEEL_MM.width / 2;
  const ptPerMm = Math.min(map.width / (leftYMm - rightYMm), map.height / (frontXMm - rearXMm));
  const middle = { x: map.x + map.width / 2, y: map.y + map.height / 2 };
  return {
    ptPerMm,
    at: (xMm, yMm) => [
      middle.x - (yMm - (leftYMm + rightYMm) / 2) * ptPerMm,
      middle.y - (xMm - (frontXMm + rearXMm) / 2) * ptPerMm,
    ],
  };
}

/** Bar on the tip, label inward of it, both inside or on the circle so that neighbours keep clear. */
function placeTip(paper: Paper, tip: NumberedTip, bar: BarSize, place: Place): Placed {
  const [x, y] = place.at(tip.xMm, tip.yMm);
  const heading = (tip.headingDeg * Math.PI) / 180;
  const inward = { x: Math.sin(heading), y: Math.cos(heading) };
  const [height, uncertainty] = labelOf(tip);
  const labelWidth = Math.max(paper.width(height, 8, true), paper.width(uncertainty, SMALL));
  const aside = Math.abs(inward.x) * ((bar.width + labelWidth) / 2 + 2.5);
  const along = Math.abs(inward.y) * (bar.half + LABEL_HEIGHT / 2 + 0.5);
  return {
    tip,
    x,
    y,
    labelX: x + inward.x * (aside + along),
    labelY: y + inward.y * (aside + along),
    labelWidth,
  };
}

function labelOf(tip: TipRow): [height: string, uncertainty: string] {
  const [height = '', uncertainty = ''] = withUncertainty(tip.heightMm, tip.expandedMm)
    .replace(' mm', '')
    .split(' ± ');
  return [height, `±${uncertainty}`];
}

/** A rectangle by its middle. */
interface Area {
  readonly x: number;
  readonly y: number;
  readonly w: number;
  readonly h: number;
}

function areasOf(placed: readonly Placed[], bar: BarSize): Area[] {
  return placed.flatMap((p) => [
    { x: p.x, y: p.y, w: bar.width + 1, h: 2 * bar.half },
    { x: p.labelX, y: p.labelY, w: p.labelWidth, h: LABEL_HEIGHT - 1.5 },
  ]);
}

function isCrowded(areas: readonly Area[]): boolean {
  return areas.some((a, i) => areas.slice(i + 1).some((b) => doOverlap(a, b)));
}

function doOverlap(a: Area, b: Area): boolean {
  return Math.abs(a.x - b.x) < (a.w + b.w) / 2 && Math.abs(a.y - b.y) < (a.h + b.h) / 2;
}

/** The spindle's name beside its cross, above or below it, where the labels leave room; else not at all: the list has it. */
function drawName(
  paper: Paper,
  name: string,
  x: number,
  y: number,
  radius: number,
  taken: readonly Area[],
): void {
  const w = paper.width(name, SMALL);
  if (w > 1.5 * radius) return;
  const free = [8, -8].find(
    (dy) => !taken.some((area) => doOverlap(area, { x, y: y + dy, w: w + 2, h: SMALL })),
  );
  if (free !== undefined)
    paper.line(name, x - w, y + free - SMALL / 2, 2 * w, { size: SMALL, ink: INK.grey, align: 'center' });
}

function drawLabel(paper: Paper, { tip, labelX, labelY }: Placed): void {
  const [height, uncertainty] = labelOf(tip);
  const top = labelY - LABEL_HEIGHT / 2;
  paper.line(height, labelX - 20, top + 0.6, 40, { size: 8, bold: true, align: 'center' });
  paper.line(uncertainty, labelX - 20, top + 9.2, 40, { size: SMALL, align: 'center' });
}

function drawKey(paper: Paper, { tip, x, y }: Placed): void {
  const heading = (tip.headingDeg * Math.PI) / 180;
  const inward = KEY_RADIUS + 0.5;
  const [keyX, keyY] = [x + Math.sin(heading) * inward, y + Math.cos(heading) * inward];
  paper.circle(keyX, keyY, KEY_RADIUS, { fill: INK.white, width: 0.5 });
  paper.line(String(tip.number), keyX - 10, keyY - 3.4, 20, { size: SMALL, align: 'center' });
}

function drawWheel(paper: Paper, place: Place, wheel: { xMm: number; yMm: number }): void {
  const [x, y] = place.at(wheel.xMm, wheel.yMm);
  const width = WHEEL_MM.width * place.ptPerMm;
  const length = WHEEL_MM.length * place.ptPerMm;
  paper.box(x - width / 2, y - length / 2, width, length, { fill: INK.tint, ink: INK.grey });
}

function drawDirections(paper: Paper, frame: Frame, map: Frame): void {
  const middle = frame.x + frame.width / 2;
  const style = { size: SMALL, ink: INK.grey, bold: true } as const;
  paper.polygon(
    [
      [middle, frame.y],
      [middle - 4, frame.y + 6],
      [middle + 4, frame.y + 6],
    ],
    { fill: INK.grey, bare: true },
  );
  paper.line('front', middle + 7, frame.y, 40, style);
  paper.line('rear', middle - 20, map.y + map.height + 3, 40, { ...style, align: 'center' });
  paper.line('left as seated', frame.x, frame.y, 80, style);
  paper.line('right as seated', frame.x + frame.width - 80, frame.y, 80, { ...style, align: 'right' });
}

function drawLegend(
  paper: Paper,
  ptPerMm: number,
  tips: readonly TipRow[],
  crowded: boolean,
  frame: Frame,
): void {
  const lengthMm = [1000, 500, 200, 100].find((mm) => mm * ptPerMm <= 90) ?? 50;
  const length = lengthMm * ptPerMm;
  const y = frame.y + 5;
  paper.stroke(
    [
      [frame.x, y],
      [frame.x + length, y],
    ],
    { width: 1.4 },
  );
  for (const end of [0, length])
    paper.stroke([
      [frame.x + end, y - 3],
      [frame.x + end, y + 3],
    ]);
  const scaleText = `${lengthMm} mm; size of the wheels not to scale`;
  paper.line(scaleText, frame.x + length + 5, frame.y + 1, frame.width - length - 5, { size: SMALL });
  legendLines(tips, crowded).forEach((text, i) => {
    paper.line(text, frame.x, frame.y + 1 + (i + 1) * leading(SMALL), frame.width, { size: SMALL });
  });
}

function legendLines(tips: readonly TipRow[], crowded: boolean): string[] {
  if (tips.length === 0) return ['no tip has been read'];
  if (crowded)
    return [
      'The tips stand too close to print their heights here:',
      'heights and bars by number in the list of tips, full record.',
    ];
  return [
    'Height of each tip above the ground of the wheels ± U, mm; mean of both blade ends.',
    `Bar: black up = above the mean of the tips, white down = below it; half the frame = ${fullBarMm(tips)} mm.`,
  ];
}
