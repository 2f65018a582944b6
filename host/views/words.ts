/** How the job's things are said, the same on terminal, page and report. Left and right are always as seated. */
import type { WidthName } from '../gauging/widths';
import type { Decision, Stage, StepTarget, Use, WheelShim } from '../ledger/events';
import type { Family, MachineProfile } from '../machines/profile';
import type { TipTarget } from '../procedure/state';
import type { UncertaintySource } from '../procedure/uncertainty-budget';
import type { MeasureRow } from './stage-view';

export const RESULT_WORDS: Record<Decision, string> = {
  pass: 'pass',
  fail: 'fail',
  undecided: "can't tell yet",
};

export const STAGE_TITLES: Record<Stage, string> = {
  arrival: 'As it came',
  'after turning': 'After turning',
  'after tightening': 'After tightening',
  'after repair': 'After a part was replaced',
  'read again': 'Read again',
};

export const USE_TITLES: Record<Use, string> = {
  inspection: 'Inspection',
  levelling: 'Levelling',
  diagnosis: 'Diagnosis',
  warranty: 'Warranty',
};

/** What is assumed of the machine, the floor and the fixture, as a technician says it. */
export const WIDTH_WORDS: Record<WidthName, string> = {
  placementMm: 'how alike two clampings are',
  textureMm: 'texture of the floor',
  floorMm: 'evenness of the floor',
  floorLengthMm: 'length of the waves of the floor',
  offsetMm: "the fixture's zero",
  gain: "the fixture's scale",
  spindleHeightMm: 'heights of the spindles',
  spindleTiltRad: 'tilt of the spindles',
  bendMm: 'how bent used blades are',
  shaftMm: 'shafts and hub faces',
  seatingHeightMm: 'height of the deck from seating to seating',
  seatingSlopeRad: 'slope of the deck from seating to seating',
  headingDeg: 'how well blades are pointed',
  headingHabitDeg: 'how far all blades are pointed alike',
};

/** What else makes a result uncertain, for the budget of a record. */
export const SOURCE_WORDS: Record<UncertaintySource, string> = {
  ...WIDTH_WORDS,
  floorSlopeRad: 'slope of the floor',
  captures: 'scatter within the readings',
  tape: 'geometry taken with a tape',
  survey: 'survey of the floor',
  parking: 'where the machine stood in the bay',
};

/** "left blade, end A, pointing left" */
export function targetText(
  target:
    | Extract<StepTarget, { kind: 'master' }>
    | (Pick<TipTarget, 'spindle' | 'headingDeg' | 'end'> & { readonly kind: 'tip' | 'watch' }),
): string {
  if (target.kind === 'master') return `height master, ${target.edge} edge`;
  return `${target.spindle} blade, end ${target.end}, pointing ${headingText(target.headingDeg)}`;
}

/** A shim as it is put under a wheel. */
export function shimText({ wheel, heightMm }: WheelShim): string {
  return `${heightMm.toFixed(1)} mm under wheel ${wheel}`;
}

/** How the deck is brought to rest where it rests when it mows, by family. */
export function seatText(family: Family): string {
  switch (family) {
    case 'walk-behind':
      return 'Lift the handle, set the machine down, press the shell down twice and let go';
    case 'floating with gauge wheels':
    case 'out-front':
      return 'Raise the deck, lower it until its wheels stand on the floor, press it down twice and let go';
    case 'mid-mount hung':
    case 'front rod with rear lift arms':
    case 'stand-on':
      return 'Raise the deck, lower it onto its stop, press it down twice and let go';
  }
}

/** The question whether a support carries: a hanger is shaken, a wheel spun. */
export function feelText(support: string, kind: 'hangs' | 'stands'): string {
  return kind === 'stands'
    ? `Spin the ${support} wheel by hand: does it carry or does it turn freely, off the floor?`
    : `Feel the ${support} hanger: does it carry or is it slack?`;
}

/** How a support that is slack is made to carry. */
export function takeUpText(support: string, kind: 'hangs' | 'stands'): string {
  const what =
    kind === 'stands'
      ? `Let the ${support} wheel down at its adjuster`
      : `Take up the ${support} hanger at its adjuster`;
  return `${what} until it just carries, and tighten it if the others are tight`;
}

/** "2 min 35 s", to the nearest 5 s. */
export function durationText(seconds: number): string {
  const rounded = 5 * Math.round(seconds / 5);
  const minutes = Math.floor(rounded / 60);
  return minutes === 0 ? `${rounded} s` : `${minutes} min ${rounded - 60 * minutes} s`;
}

/** Eight directions by name, others in degrees. */
export function headingText(headingDeg: number): string {
  const turned = ((headingDeg % 360) + 360) % 360;
  const names: Record<number, string> = {
    0: 'forward',
    45: 'forward left',
    90: 'left',
    135: 'rear left',
    180: 'rearward',
    225: 'rear right',
    270: 'right',
    315: 'forward right',
  };
  return names[turned] ?? `${turned.toFixed(0)}° counter-clockwise from forward`;
}

/** "rear left: raise 3.2 mm = 2 turns and 3 flats, clockwise seen from below": direction first, then how far, then how. */
export function turnText(
  adjuster: MachineProfile['adjusters'][number],
  turns: number,
  raiseMm: number,
): string {
  const way = raiseMm >= 0 ? 'raise' : 'lower';
  const rotation = turns >= 0 ? adjuster.raises.rotation : opposite(adjuster.raises.rotation);
  const amount = turnsText(Math.abs(turns), adjuster.stepTurns);
  // How far a trial turn goes is what it is to show.
  const rise = Number.isNaN(raiseMm)
    ? `${turns >= 0 ? 'raise' : 'lower'} by ${amount}`
    : `${way} ${Math.abs(raiseMm).toFixed(1)} mm = ${amount}`;
  return `${adjuster.name}: ${rise}, ${rotation} seen from ${adjuster.raises.seenFrom}`;
}

/** Whole steps: "2 turns and 3 flats" where the step is a flat of a hexagon, else "2 turns and 1/4" or "3 notches of 0.30 turns". */
export function turnsText(turns: number, stepTurns: number): string {
  const steps = Math.round(turns / stepTurns);
  const stepsInATurn = Math.round(1 / stepTurns);
  if (steps === 0) return 'less than half a step';
  if (Math.abs(stepsInATurn * stepTurns - 1) > 1e-6)
    return `${counted(steps, 'notch', 'notches')} of ${stepTurns.toFixed(2)} turns`;
  const whole = Math.floor(steps / stepsInATurn);
  const rest = steps - stepsInATurn * whole;
  const parts = whole > 0 ? [counted(whole, 'turn', 'turns')] : [];
  if (rest > 0) {
    if (stepsInATurn === 6) parts.push(counted(rest, 'flat', 'flats'));
    else parts.push(`${rest}/${stepsInATurn}${whole > 0 ? '' : ' turn'}`);
  }
  return parts.join(' and ');
}

function counted(count: number, one: string, more: string): string {
  return `${count} ${count === 1 ? one : more}`;
}

/** A value with its expanded uncertainty, both to 0.1 mm; never shown as inside when it is outside (see limitedText). */
export function withUncertainty(valueMm: number, expandedMm: number): string {
  return `${signed(valueMm)} ± ${expandedMm.toFixed(1)} mm`;
}

/** The value with as many decimals as it needs so that rounding does not carry it across a limit. */
export function limitedText(valueMm: number, lowerMm: number, upperMm: number): string {
  const inside = valueMm >= lowerMm && valueMm <= upperMm;
  for (let decimals = 1; decimals < 6; decimals += 1) {
    const shown = Number(valueMm.toFixed(decimals));
    if ((shown >= lowerMm && shown <= upperMm) === inside) return valueMm.toFixed(decimals);
  }
  return valueMm.toFixed(6);
}

/** A measure's value with its expanded uncertainty, never rounded across a limit: "3.04 ± 0.7 mm", or "not measured". */
export function measuredText(row: MeasureRow): string {
  if (row.verdict === 'not measured') return 'not measured';
  const value = limitedText(row.valueMm, row.lowerMm, row.upperMm).replace(/^-(?=0\.0+$)/, '');
  return `${withMinus(value)} ± ${row.expandedMm.toFixed(1)} mm`;
}

/** "2 to 8 mm" */
export function limitsText(row: Pick<MeasureRow, 'lowerMm' | 'upperMm'>): string {
  return `${withMinus(String(row.lowerMm))} to ${withMinus(String(row.upperMm))} mm`;
}

/** "rear left: raise 3.2 mm = ...", with the nominal ratio; an adjuster of several hangers raises them by their mean. */
export function turnedText(profile: MachineProfile, adjusterName: string, turns: number): string {
  const adjuster = profile.adjusters.find((a) => a.name === adjusterName);
  if (adjuster === undefined) throw new Error(`the profile has no adjuster "${adjusterName}"`);
  const mmPerTurn = adjuster.moves.reduce((sum, m) => sum + m.mmPerTurn, 0) / adjuster.moves.length;
  return turnText(adjuster, turns, turns * mmPerTurn);
}

/** Differences in mm to 0.01 mm, with their sign: "+0.02, −0.03 mm"; "none" when there are none. */
export function differencesText(valuesMm: readonly number[]): string {
  if (valuesMm.length === 0) return 'none';
  const signed = (size: string, v: number) => (size === '0.00' ? size : `${v < 0 ? '−' : '+'}${size}`);
  return `${valuesMm.map((v) => signed(Math.abs(v).toFixed(2), v)).join(', ')} mm`;
}

/** "2026-11-25 13:07 UTC" from ISO 8601 in UTC. */
export function timeText(at: string): string {
  return `${at.slice(0, 10)} ${at.slice(11, 16)} UTC`;
}

/** "at least 97.9 %": a lower bound is rounded down, so that it never looks like reaching the rule's limit when it does not. */
export function atLeast(probability: number): string {
  if (probability > 0.999 && probability < 1) return 'more than 99.9 %';
  return `at least ${(Math.floor(1000 * probability + 1e-9) / 10).toFixed(1)} %`;
}

function signed(value: number): string {
  const size = Math.abs(value).toFixed(1);
  return value < 0 && size !== '0.0' ? `−${size}` : size;
}

/** The minus sign in place of the hyphen. */
function withMinus(number: string): string {
  return number.replace(/^-/, '−');
}

export function opposite(rotation: 'clockwise' | 'counter-clockwise'): 'clockwise' | 'counter-clockwise' {
  return rotation === 'clockwise' ? 'counter-clockwise' : 'clockwise';
}

/** That the readings scatter more than their widths allow. */
export function scatterText(scatter: number): string {
  return `readings scatter ${scatter.toFixed(1)} times as much as their assumed widths allow: every ± is as much larger`;
}
