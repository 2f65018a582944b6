/**
 * What cannot be true of a machine although every field by itself could be: names that lead nowhere, geometry that
 * does not close, limits upside down. Each contradiction is one sentence that starts with the field it is about.
 */
import { ratioAtHeight } from './at-height';
import { familyFaults, supportsCarry } from './family-rules';
import type { MachineProfile, Measure } from './profile';

interface Point {
  readonly xMm: number;
  readonly yMm: number;
}
interface NamedPoint extends Point {
  readonly name: string;
}

/** Positions are taken with a tape: nothing closer than this counts as a difference. */
const TAPE_MM = 2;
/** A support triangle flatter than this does not hold a deck. */
const FLATTEST_HANGERS_MM = 20;
const WEIGHT_ERROR = 1e-6;
/** Ratios are given to a thousandth. */
const RATIO_ERROR = 1e-3;

/** Every contradiction of a profile whose fields are well formed, in the order of the fields; empty when there is none. */
export function contradictionsOf(profile: MachineProfile): string[] {
  return [
    ...lists(profile).flatMap(([field, items]) => doubledNames(field, items)),
    ...sidesSwapped('wheels', profile.wheels),
    ...sidesSwapped('spindles', profile.spindles),
    ...sidesSwapped('hangers', profile.hangers),
    ...wheelFaults(profile),
    ...spindleFaults(profile),
    ...hangerFaults(profile),
    ...familyFaults(profile),
    ...adjusterFaults(profile),
    ...profile.measures.flatMap((measure, i) =>
      measureFaults(profile, measure, `measures[${i}] '${measure.name}'`),
    ),
    ...cutHeightFaults(profile),
    ...preparationFaults(profile),
  ];
}

function lists(p: MachineProfile): [string, readonly string[]][] {
  return [
    ...Object.entries({
      wheels: p.wheels,
      spindles: p.spindles,
      hangers: p.hangers,
      adjusters: p.adjusters,
      measures: p.measures,
    }).map(([field, items]): [string, readonly string[]] => [field, items.map((item) => item.name)]),
    ['preparation', p.preparation.map((item) => item.id)],
  ];
}

function doubledNames(field: string, names: readonly string[]): string[] {
  const doubled = names.filter((name, i) => names.indexOf(name) !== i);
  return [...new Set(doubled)].map((name) => `${field}: '${name}' stands twice`);
}

/** What is called left lies further left (y up) than what is called right, and front further forward than rear. */
function sidesSwapped(field: string, points: readonly NamedPoint[]): string[] {
  const called = (word: string) =>
    points.filter((point) => new RegExp(`\\b${word}\\b`, 'i').test(point.name));
  const swapped = (more: string, less: string, key: 'xMm' | 'yMm', where: string) =>
    called(more).flatMap((a) =>
      called(less)
        .filter((b) => a !== b && a[key] <= b[key])
        .map(
          (b) =>
            `${field}: '${a.name}' lies no further ${where} than '${b.name}' (${key} ${a[key]} and ${b[key]})`,
        ),
    );
  return [...swapped('left', 'right', 'yMm', 'left'), ...swapped('front', 'rear', 'xMm', 'forward')];
}

function wheelFaults({ groundPlane, wheels, spindles }: MachineProfile): string[] {
  const faults: string[] = [];
  const wanted = groundPlane === 'three wheels' ? 3 : 4;
  if (wheels.length !== wanted)
    faults.push(`groundPlane: '${groundPlane}' wants ${wanted} wheels, but wheels names ${wheels.length}`);
  if (spreadMm(wheels) < FLATTEST_HANGERS_MM)
    faults.push('wheels: all stand on one line, which is no ground plane');
  const drivePair = pairs(wheels).some(
    ([a, b]) =>
      Math.abs(a.xMm + b.xMm) <= 2 * TAPE_MM &&
      Math.abs(a.yMm + b.yMm) <= 2 * TAPE_MM &&
      Math.abs(a.xMm) <= TAPE_MM,
  );
  if (!drivePair)
    faults.push(
      'wheels: the origin lies midway between the drive wheels, but no two wheels have their middle at x 0, y 0',
    );
  if (groundPlane === 'pivoting front axle' && wheels.length === 4) {
    const [first, second] = [...wheels].sort((a, b) => b.xMm - a.xMm) as [NamedPoint, NamedPoint];
    if (Math.abs(first.xMm - second.xMm) > TAPE_MM || first.yMm * second.yMm >= 0) {
      faults.push(
        `wheels: '${first.name}' and '${second.name}' are the foremost but are no axle: one left, one right, at the same x`,
      );
    }
  }
  for (const wheel of wheels) {
    for (const spindle of spindles.filter((s) => distanceMm(s, wheel) < s.tipRadiusMm)) {
      faults.push(`wheels: '${wheel.name}' stands inside the blade circle of spindle '${spindle.name}'`);
    }
  }
  return faults;
}

function spindleFaults({ spindles, timedDeck, uncertaintyMm }: MachineProfile): string[] {
  // What a tape gave is contradictory only beyond what it is uncertain (k = 2, a difference of two places).
  const slackMm =
    uncertaintyMm === undefined
      ? 0
      : 2 * Math.SQRT2 * Math.hypot(uncertaintyMm.spindleMm, uncertaintyMm.tipRadiusMm);
  // Timed blades may sweep over one another's circle, and a stacked blade turns above its own.
  const collisions = pairs(timedDeck === true ? [] : spindles.filter((s) => s.stackedOn === undefined))
    .filter(([a, b]) => distanceMm(a, b) + slackMm < a.tipRadiusMm + b.tipRadiusMm)
    .map(
      ([a, b]) =>
        `spindles: the blade circles of '${a.name}' and '${b.name}' collide: ${round(distanceMm(a, b))} mm apart, radii ${a.tipRadiusMm} and ${b.tipRadiusMm} mm`,
    );
  const gaps: string[] = [];
  const fromRight = [...spindles].sort((a, b) => a.yMm - a.tipRadiusMm - (b.yMm - b.tipRadiusMm));
  fromRight.reduce((reached, next) => {
    const gapMm = next.yMm - next.tipRadiusMm - (reached.yMm + reached.tipRadiusMm);
    if (gapMm > slackMm)
      gaps.push(
        `spindles: '${reached.name}' and '${next.name}' leave a strip of ${round(gapMm)} mm uncut between them`,
      );
    return next.yMm + next.tipRadiusMm > reached.yMm + reached.tipRadiusMm ? next : reached;
  });
  const arcs = spindles.flatMap((spindle, i) =>
    spindle.blockedArcsDeg
      .filter(([from, to]) => turnDeg(from, to) === 0)
      .map(([from]) => `spindles[${i}] '${spindle.name}': a blocked arc begins and ends at ${from} degrees`),
  );
  return [
    ...collisions,
    ...gaps,
    ...arcs,
    ...timingFaults(spindles, timedDeck === true),
    ...stackFaults(spindles),
  ];
}

function timingFaults(spindles: MachineProfile['spindles'], timed: boolean): string[] {
  return spindles.flatMap(({ name, timedOffsetDeg }, i) => {
    const where = `spindles[${i}] '${name}'`;
    if (timed && timedOffsetDeg === undefined)
      return [`${where}: the deck is timed, but timedOffsetDeg does not say where this blade stands`];
    return !timed && timedOffsetDeg !== undefined
      ? [`${where}: timedOffsetDeg says where a timed blade stands, but timedDeck is not true`]
      : [];
  });
}

function stackFaults(spindles: MachineProfile['spindles']): string[] {
  return spindles.flatMap((upper, i) => {
    if (upper.stackedOn === undefined) return [];
    const where = `spindles[${i}] '${upper.name}'`;
    const lower = spindles.find((s) => s.name === upper.stackedOn?.spindle);
    if (lower === undefined)
      return [`${where}: is stacked on '${upper.stackedOn.spindle}', which spindles does not name`];
    if (lower === upper || lower.stackedOn !== undefined)
      return [`${where}: is stacked on '${lower.name}', which is no lower blade`];
    return distanceMm(upper, lower) > TAPE_MM
      ? [`${where}: is stacked on '${lower.name}' but ${round(distanceMm(upper, lower))} mm beside it`]
      : [];
  });
}

function hangerFaults({ hangers, centreOfGravity, adjusters }: MachineProfile): string[] {
  const faults: string[] = [];
  const holding = hangers.filter((h) => h.kind === 'holds');
  if (spreadMm(hangers) < FLATTEST_HANGERS_MM)
    faults.push('hangers: all lie on one line, which does not hold a deck');
  else if (holding.length > 3)
    faults.push(`hangers: ${holding.length} of them hold both ways; more than three would bend the deck`);
  else if (
    holding.length === 0 ? !insideHull(centreOfGravity, hangers) : !supportsCarry(centreOfGravity, hangers)
  ) {
    faults.push(
      `centreOfGravity: (${centreOfGravity.xMm}, ${centreOfGravity.yMm}) lies outside the hangers, so the deck would tip over`,
    );
  }
  const moved = new Set(adjusters.flatMap((adjuster) => adjuster.moves.map((move) => move.hanger)));
  for (const hanger of hangers.filter((h) => !moved.has(h.name)))
    faults.push(`hangers: no adjuster moves '${hanger.name}'`);
  return faults;
}

function adjusterFaults({ adjusters, hangers, cutHeightMm }: MachineProfile): string[] {
  return adjusters.flatMap((adjuster, i) => {
    const where = `adjusters[${i}] '${adjuster.name}'`;
    const names = adjuster.moves.map((move) => move.hanger);
    const unknown = names.filter((name) => !hangers.some((h) => h.name === name));
    const faults = unknown.map((name) => `${where}: moves the hanger '${name}', which hangers does not name`);
    faults.push(...doubledNames(`${where}.moves`, names));
    for (const { hanger, mmPerTurn, atHeights } of adjuster.moves) {
      if (atHeights === undefined) continue;
      const here = ratioAtHeight(atHeights, cutHeightMm);
      if (here === undefined)
        faults.push(`${where}: atHeights of '${hanger}' does not reach the cut height of ${cutHeightMm} mm`);
      else if (Math.abs(here - mmPerTurn) > RATIO_ERROR * mmPerTurn)
        faults.push(
          `${where}: mmPerTurn of '${hanger}' is ${mmPerTurn}, but atHeights gives ${round(here)} at ${cutHeightMm} mm`,
        );
    }
    const [down, up] = adjuster.travelTurns;
    if (up - down < adjuster.stepTurns)
      faults.push(`${where}: its travel of ${round(up - down)} turns is less than one step`);
    return faults;
  });
}

function measureFaults(profile: MachineProfile, measure: Measure, where: string): string[] {
  const { lowerMm, targetMm, upperMm } = measure;
  const faults: string[] = [];
  if (lowerMm >= upperMm) faults.push(`${where}: lowerMm ${lowerMm} is not below upperMm ${upperMm}`);
  else if (targetMm < lowerMm || targetMm > upperMm) {
    faults.push(`${where}: targetMm ${targetMm} lies outside its limits ${lowerMm} to ${upperMm}`);
  }
  const names = measure.what === 'bend' ? [measure.spindle] : measure.terms.map((term) => term.spindle);
  const unknown = [...new Set(names)].filter((name) => !profile.spindles.some((s) => s.name === name));
  faults.push(...unknown.map((name) => `${where}: spindle '${name}' is not one of spindles`));
  if (measure.what === 'tips') faults.push(...tipFaults(profile, measure, where, unknown.length === 0));
  return faults;
}

function tipFaults(
  { spindles }: MachineProfile,
  measure: Extract<Measure, { what: 'tips' }>,
  where: string,
  placesKnown: boolean,
): string[] {
  const faults: string[] = [];
  const { terms, spanMm } = measure;
  terms.forEach((term, i) => {
    if (
      terms
        .slice(0, i)
        .some((t) => t.spindle === term.spindle && turnDeg(t.headingDeg, term.headingDeg) === 0)
    ) {
      faults.push(`${where}: names the tip '${term.spindle}' at ${term.headingDeg} degrees twice`);
    }
    const arcs = spindles.find((s) => s.name === term.spindle)?.blockedArcsDeg ?? [];
    for (const [from, to] of arcs.filter(([a, b]) => turnDeg(a, term.headingDeg) <= turnDeg(a, b))) {
      faults.push(
        `${where}: wants the tip '${term.spindle}' at ${term.headingDeg} degrees, which the blocked arc ${from} to ${to} forbids`,
      );
    }
  });
  const sum = terms.reduce((total, term) => total + term.weight, 0);
  const isHeight = Math.abs(sum - 1) <= WEIGHT_ERROR;
  if (!isHeight && Math.abs(sum) > WEIGHT_ERROR) {
    faults.push(`${where}: its weights add up to ${round(sum)}, not to 0 (a difference) or 1 (a height)`);
  } else if (isHeight && spanMm !== 0)
    faults.push(`${where}: spanMm is ${spanMm}, but a height has the span 0`);
  else if (!isHeight && placesKnown) {
    const realMm = spanOfTermsMm(spindles, terms);
    if (Math.abs(realMm - spanMm) > TAPE_MM)
      faults.push(`${where}: spanMm is ${spanMm}, but its tips lie ${round(realMm)} mm apart`);
  }
  return faults;
}

/** Length of the weighted sum of the tips' places: the distance over which a difference shows the deck's slope. */
function spanOfTermsMm(
  spindles: MachineProfile['spindles'],
  terms: Extract<Measure, { what: 'tips' }>['terms'],
): number {
  let xMm = 0;
  let yMm = 0;
  for (const { spindle, headingDeg, weight } of terms) {
    const at = spindles.find((s) => s.name === spindle);
    if (at === undefined) continue;
    xMm += weight * (at.xMm + at.tipRadiusMm * Math.cos((headingDeg * Math.PI) / 180));
    yMm += weight * (at.yMm + at.tipRadiusMm * Math.sin((headingDeg * Math.PI) / 180));
  }
  return Math.hypot(xMm, yMm);
}

function cutHeightFaults({ measures, cutHeightMm }: MachineProfile): string[] {
  const heights = measures.filter((m) => m.what === 'tips' && m.spanMm === 0);
  if (heights.length === 0 || heights.some((m) => m.lowerMm <= cutHeightMm && cutHeightMm <= m.upperMm))
    return [];
  const named = heights.map((m) => `'${m.name}'`).join(', ');
  return [`cutHeightMm: ${cutHeightMm} lies outside the limits of ${named}`];
}

function preparationFaults({ preparation }: MachineProfile): string[] {
  return preparation.flatMap(({ id, number }, i) =>
    number !== undefined && number.lower >= number.upper
      ? [`preparation[${i}] '${id}': lower ${number.lower} is not below upper ${number.upper}`]
      : [],
  );
}

function pairs<T>(items: readonly T[]): [T, T][] {
  return items.flatMap((a, i) => items.slice(i + 1).map((b): [T, T] => [a, b]));
}

function distanceMm(a: Point, b: Point): number {
  return Math.hypot(a.xMm - b.xMm, a.yMm - b.yMm);
}

/** Counter-clockwise turn from one heading to another, 0 up to 360. */
function turnDeg(fromDeg: number, toDeg: number): number {
  return (((toDeg - fromDeg) % 360) + 360) % 360;
}

/** Twice the signed area of a triangle. */
function doubleArea(a: Point, b: Point, c: Point): number {
  return (b.xMm - a.xMm) * (c.yMm - a.yMm) - (b.yMm - a.yMm) * (c.xMm - a.xMm);
}

/** Distance of the point that is furthest from the line through the two points furthest apart. */
function spreadMm(points: readonly Point[]): number {
  const longest = pairs(points).sort((p, q) => distanceMm(...q) - distanceMm(...p))[0];
  if (longest === undefined) return 0;
  const lengthMm = distanceMm(...longest);
  return lengthMm === 0 ? 0 : Math.max(...points.map((p) => Math.abs(doubleArea(...longest, p)) / lengthMm));
}

/** Strictly inside the convex hull: no line through two points has all the points on one side and this one not. */
function insideHull(point: Point, points: readonly Point[]): boolean {
  return pairs(points).every(([a, b]) => {
    const sides = points.map((p) => doubleArea(a, b, p));
    const side = doubleArea(a, b, point);
    const allLeft = sides.every((s) => s >= 0);
    const allRight = sides.every((s) => s <= 0);
    return (!allLeft || side > 0) && (!allRight || side < 0);
  });
}

function round(value: number): number {
  return Math.round(value * 1000) / 1000;
}
