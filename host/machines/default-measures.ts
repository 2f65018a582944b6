/**
 * Level, rake, cut height and bend of a deck of which nothing else is declared, from where its spindles are.
 *
 * Level sees no fore-and-aft slope and rake no sideways one, on staggered decks as well: each is a weighted sum of tip
 * heights whose places balance along the other axis. Limits are common practice, no source: the shop's own.
 */
import type { MachineProfile, Measure } from './profile';

type Blade = Pick<MachineProfile['spindles'][number], 'name' | 'xMm' | 'yMm' | 'tipRadiusMm' | 'stackedOn'>;
type Tips = Extract<Measure, { what: 'tips' }>;
type Term = Tips['terms'][number];

const SHOP_LIMIT = 'shop limit';
const LEVEL_MM = { targetMm: 0, lowerMm: -3, upperMm: 3, source: SHOP_LIMIT };
const RAKE_MM = { targetMm: 5, lowerMm: 2, upperMm: 8, source: SHOP_LIMIT };
const BEND_MM = { targetMm: 0, lowerMm: -3, upperMm: 3, source: SHOP_LIMIT };
const CUT_HEIGHT_MM = 3;
/** Spindles whose x differs by no more stand in one row. */
const ROW_MM = 2;

/** The measures of a deck, in the order in which they are shown; its blades from the left. */
export function defaultMeasures(blades: readonly Blade[], cutHeightMm: number): Measure[] {
  const lowest = blades.filter((b) => b.stackedOn === undefined);
  return [
    tips('level', levelTerms(lowest), blades, LEVEL_MM),
    tips('rake', rakeTerms(lowest), blades, RAKE_MM),
    {
      what: 'tips',
      name: 'cut height',
      terms: at(0, foremost(lowest), 1),
      spanMm: 0,
      targetMm: cutHeightMm,
      lowerMm: cutHeightMm - CUT_HEIGHT_MM,
      upperMm: cutHeightMm + CUT_HEIGHT_MM,
      source: SHOP_LIMIT,
    },
    ...blades.map(({ name }): Measure => ({
      what: 'bend',
      name: blades.length === 1 ? 'bend' : `bend ${name}`,
      spindle: name,
      ...BEND_MM,
    })),
  ];
}

/** The outermost tips; where one stands ahead, the fore-and-aft tips of the same blades take the slope between them out. */
function levelTerms(blades: readonly Blade[]): Term[] {
  const [left, right] = outermost(blades);
  const aheadMm = left.xMm - right.xMm;
  const terms = [...at(90, [[left, 1]], 1), ...at(-90, [[right, 1]], -1)];
  if (left === right || aheadMm === 0) return terms;
  const both: Weighted = [
    [left, 1],
    [right, 1],
  ];
  const balance = -aheadMm / (2 * (left.tipRadiusMm + right.tipRadiusMm));
  return [...terms, ...at(0, both, balance), ...at(180, both, -balance)];
}

/** The rear tips of the rear row less the front tips of the front row, each balanced about the middle of the deck. */
function rakeTerms(blades: readonly Blade[]): Term[] {
  const rear = balanced(rowAt(blades, Math.min(...blades.map((b) => b.xMm))), outermost);
  const front = balanced(rowAt(blades, Math.max(...blades.map((b) => b.xMm))), innermost);
  // A row on one side of the deck only, as on two staggered spindles, cannot be balanced by itself.
  const both: Weighted = outermost(blades).map((b) => [b, 0.5]);
  return rear === undefined || front === undefined
    ? [...at(180, both, 1), ...at(0, both, -1)]
    : [...at(180, rear, 1), ...at(0, front, -1)];
}

/** The foremost tip nearest the middle of the deck, or the mean of two that are equally near. */
function foremost(blades: readonly Blade[]): Weighted {
  const row = rowAt(blades, Math.max(...blades.map((b) => b.xMm + b.tipRadiusMm)), (b) => b.tipRadiusMm);
  const nearestMm = Math.min(...row.map((b) => Math.abs(b.yMm)));
  const nearest = row.filter((b) => Math.abs(b.yMm) - nearestMm <= ROW_MM);
  return nearest.map((b) => [b, 1 / nearest.length]);
}

type Weighted = readonly (readonly [blade: Blade, weight: number])[];

function rowAt(blades: readonly Blade[], xMm: number, plusMm: (b: Blade) => number = () => 0): Blade[] {
  return blades.filter((b) => Math.abs(b.xMm + plusMm(b) - xMm) <= ROW_MM);
}

/** Weights, together 1, of a pair of a row (or its one blade on the midline) whose mean lies on the midline. */
function balanced(
  row: readonly Blade[],
  pick: (row: readonly Blade[]) => [Blade, Blade],
): Weighted | undefined {
  const [left, right] = pick(row);
  if (left === right) return Math.abs(left.yMm) <= ROW_MM ? [[left, 1]] : undefined;
  if (left.yMm * right.yMm >= 0) return undefined;
  const apartMm = left.yMm - right.yMm;
  return [
    [left, -right.yMm / apartMm],
    [right, left.yMm / apartMm],
  ];
}

function outermost(row: readonly Blade[]): [Blade, Blade] {
  const fromLeft = [...row].sort((a, b) => b.yMm + b.tipRadiusMm - (a.yMm + a.tipRadiusMm));
  const fromRight = [...row].sort((a, b) => a.yMm - a.tipRadiusMm - (b.yMm - b.tipRadiusMm));
  return [fromLeft[0], fromRight[0]];
}

/** The blade on the midline by itself, else the nearest on either side of it. */
function innermost(row: readonly Blade[]): [Blade, Blade] {
  const byMiddle = [...row].sort((a, b) => Math.abs(a.yMm) - Math.abs(b.yMm));
  const first = byMiddle[0];
  if (Math.abs(first.yMm) <= ROW_MM) return [first, first];
  const other = byMiddle.find((b) => b.yMm * first.yMm < 0) ?? first;
  return first.yMm > 0 ? [first, other] : [other, first];
}

function at(headingDeg: number, blades: Weighted, weight: number): Term[] {
  return blades.map(([{ name }, share]) => ({ spindle: name, headingDeg, weight: weight * share }));
}

function tips(name: string, terms: Term[], blades: readonly Blade[], limits: typeof LEVEL_MM): Tips {
  return { what: 'tips', name, terms, spanMm: spanMm(terms, blades), ...limits };
}

/** How far the weighted places lie apart: what a slope along the measure is multiplied by. */
function spanMm(terms: readonly Term[], blades: readonly Blade[]): number {
  const sum = (along: (b: Blade, headingRad: number) => number) =>
    terms.reduce((total, { spindle, headingDeg, weight }) => {
      const blade = blades.find((b) => b.name === spindle) as Blade;
      return total + weight * along(blade, (headingDeg * Math.PI) / 180);
    }, 0);
  const lengthMm = Math.hypot(
    sum((b, heading) => b.xMm + b.tipRadiusMm * Math.cos(heading)),
    sum((b, heading) => b.yMm + b.tipRadiusMm * Math.sin(heading)),
  );
  return Math.round(lengthMm * 1000) / 1000;
}
