/** What is wrong with the machine, in the words of the trade: which part, how sure, how to tell parts apart, what to do. */
import type { Explanation, Faults, Finding } from '../../protocol/solver';
import type { MachineProfile } from '../machines/profile';
import type { TipTarget } from '../procedure/state';
import { headingText, targetText } from './words';

export interface FaultRow {
  /** "left blade bent, or left shaft bent or its hub face dirty": likeliest first. */
  readonly parts: string;
  /** "end A 6.1 ± 0.8 mm above end B, limit 3 mm (bend left)", of the likeliest. */
  readonly size: string;
  /** Probability that it is one of the parts named. */
  readonly probability: number;
  /** Probability that the likeliest part is beyond its limit, if it is that part. */
  readonly beyondLimit: number;
  readonly status: 'beyond its limit' | 'perhaps beyond its limit' | 'within its limit';
  /** Captures that it rests on. */
  readonly captures: readonly number[];
  /** What would tell the parts apart; none when only one is named. */
  readonly tests: readonly string[];
  readonly advice: readonly string[];
}

export interface FaultView {
  /** Probability that everything else is a matter of adjustment; 0 when the readings say nothing. */
  readonly adjustmentOnly: number;
  readonly rows: readonly FaultRow[];
  /** Faults that would not show in these readings, and what follows from that. */
  readonly hidden: readonly string[];
}

/** What of a reading is shown; `solve` has no captures and numbers its readings from 1. */
export interface ShownReading {
  readonly number: number;
  readonly target: Pick<TipTarget, 'kind' | 'spindle' | 'headingDeg' | 'end'>;
}

export function faultView(
  profile: MachineProfile,
  readings: readonly ShownReading[],
  faults: Faults,
): FaultView {
  return {
    adjustmentOnly: faults.adjustmentOnly,
    rows: faults.findings.map((finding) => faultRow(profile, readings, finding)),
    hidden: hiddenText(profile, faults.hidden),
  };
}

function faultRow(
  profile: MachineProfile,
  readings: readonly ShownReading[],
  { explanations }: Finding,
): FaultRow {
  const [first] = explanations;
  if (first === undefined) throw new Error('a finding without an explanation');
  const unique = (texts: readonly string[]) => [...new Set(texts)];
  const nameOf = (e: Explanation) => partText(profile, readings, e);
  return {
    parts: unique(explanations.map(nameOf)).join(', or '),
    size: `${sizeText(first)}, ${limitText(first)}`,
    probability: Math.min(
      1,
      explanations.reduce((sum, e) => sum + e.probability, 0),
    ),
    beyondLimit: first.beyondLimit,
    status:
      first.beyondLimit >= 0.98
        ? 'beyond its limit'
        : first.beyondLimit > 0.02
          ? 'perhaps beyond its limit'
          : 'within its limit',
    captures: first.readings.map((i) => readings[i]?.number ?? 0),
    tests: unique(separatingTests(profile, explanations)),
    advice: unique(explanations.map((e) => adviceText(profile, e))),
  };
}

const spindleName = (profile: MachineProfile, e: Pick<Explanation, 'spindle'>) =>
  profile.spindles[e.spindle]?.name ?? '';

function partText(
  profile: MachineProfile,
  readings: readonly ShownReading[],
  e: Pick<Explanation, 'kind' | 'spindle' | 'readings' | 'sizeMm'>,
): string {
  const spindle = spindleName(profile, e);
  const read = e.readings.flatMap((i) => readings[i] ?? []);
  const first = read[0];
  const numbers = read.map((r) => r.number).join(', ');
  const which = first === undefined ? '' : targetText(first.target);
  switch (e.kind) {
    case 'bent blade':
      return `${spindle} blade bent`;
    case 'bent shaft or dirty hub face':
      return `${spindle} shaft bent or its hub face dirty`;
    case 'spindle high or low':
      return `${spindle} spindle ${e.sizeMm > 0 ? 'high' : 'low'}`;
    case 'spindle tilted':
      return `${spindle} spindle tilted`;
    case 'twisted shell':
      return 'shell twisted';
    case 'floor':
      return `floor ${e.sizeMm > 0 ? 'high' : 'low'} under the ${which}`;
    case 'one bad reading':
      return read.length === 1
        ? `one bad reading (${numbers}: ${which})`
        : `one bad clamping (readings ${numbers}: ${which})`;
    case 'wrong heading or wrong tip':
      return `wrong heading or wrong tip (readings ${numbers}: meant as ${which})`;
  }
}

function sizeText(e: Explanation): string {
  const size = `${Math.abs(e.sizeMm).toFixed(1)} ± ${(2 * e.standardUncertaintyMm).toFixed(1)} mm`;
  switch (e.kind) {
    case 'bent blade':
    case 'bent shaft or dirty hub face':
      return `end A ${size} ${e.sizeMm > 0 ? 'above' : 'below'} end B`;
    case 'spindle high or low':
      return `${size} ${e.sizeMm > 0 ? 'above' : 'below'} where the others say`;
    case 'spindle tilted': {
      const highDeg = (Math.atan2(e.riseLeftMm, e.riseForwardMm) * 180) / Math.PI;
      return `${size} across the blade's circle, highest ${headingText(45 * Math.round(highDeg / 45))}`;
    }
    case 'twisted shell':
      return `front left and rear right corners ${size} ${e.sizeMm > 0 ? 'above' : 'below'} the plane of the deck`;
    case 'floor':
      return size;
    case 'one bad reading':
    case 'wrong heading or wrong tip':
      return `${size} too ${e.sizeMm > 0 ? 'high' : 'low'} against the others`;
  }
}

function limitText(e: Explanation): string {
  if (e.kind === 'one bad reading' || e.kind === 'wrong heading or wrong tip')
    return `questioned from ${e.limitMm.toFixed(1)} mm`;
  return `limit ${e.limitMm.toFixed(1)} mm (${e.limitOf === '' ? 'shop limit' : e.limitOf})`;
}

/** Every two explanations that have to be told apart, and the cheapest test that does it. */
function separatingTests(profile: MachineProfile, explanations: readonly Explanation[]): string[] {
  return explanations.flatMap((a, i) => explanations.slice(i + 1).map((b) => testBetween(profile, a, b)));
}

function testBetween(profile: MachineProfile, a: Explanation, b: Explanation): string {
  const pair = [a.kind, b.kind];
  const has = (kind: Explanation['kind']) => pair.includes(kind);
  const named = spindleName(profile, a.spindle < 0 ? b : a);
  if (has('one bad reading') || has('wrong heading or wrong tip'))
    return 'clamp again on the right tip and heading, and read again';
  if (has('floor'))
    return 'roll the machine half a metre on, or lay a target plate under the tip, and read again; survey the floor';
  if (has('bent blade') && has('bent shaft or dirty hub face'))
    return `refit the ${named} blade half a turn round and read both ends again: what follows the blade is the blade, what stays is shaft or hub face`;
  if (has('bent blade') || has('bent shaft or dirty hub face'))
    return `swap the ${named} blade with a known good one and read again`;
  if (a.kind === 'spindle high or low' && b.kind === 'spindle high or low')
    return `measure from the shell to both hubs, ${spindleName(profile, a)} and ${spindleName(profile, b)}`;
  return `read a third heading on the ${named} blade; push and pull its tip and read the play live`;
}

function adviceText(profile: MachineProfile, e: Explanation): string {
  const spindle = spindleName(profile, e);
  switch (e.kind) {
    case 'bent blade':
      return `replace the ${spindle} blade; never straighten it, never fit it upside down`;
    case 'bent shaft or dirty hub face':
      return `clean the ${spindle} hub face and read again; if it stays, replace the shaft`;
    case 'spindle high or low':
      return `inspect the ${spindle} spindle's bracket and spacers`;
    case 'spindle tilted':
      return `inspect the ${spindle} spindle's bearing and housing`;
    case 'twisted shell':
      return 'inspect the shell and its supports; turning cannot take a twist out';
    case 'floor':
      return 'survey the floor again, or read on another spot';
    case 'one bad reading':
    case 'wrong heading or wrong tip':
      return 'look at the clamp and the tip, set the reading aside and read again';
  }
}

/** On one spindle tilt and slope are inseparable, and so are the heights of spindle and deck: it is said, not guessed. */
function hiddenText(profile: MachineProfile, hidden: Faults['hidden']): string[] {
  if (hidden.length === 0) return [];
  if (profile.spindles.length === 1) {
    return [
      'On one spindle a tilted spindle cannot be told from the slope of the deck, nor a high spindle from its height.',
    ];
  }
  const names = (kind: Explanation['kind']) =>
    hidden
      .filter((h) => h.kind === kind)
      .map((h) => spindleName(profile, h))
      .join(', ');
  const line = (kind: Explanation['kind'], what: string, how: string) =>
    names(kind) === '' ? [] : [`${what} (${names(kind)}) would hardly show in these readings: ${how}.`];
  return [
    ...line('bent blade', 'A bent blade', 'read both of its ends'),
    ...line('bent shaft or dirty hub face', 'A bent shaft', 'read both ends of its blade'),
    ...line('spindle tilted', 'A tilted spindle', 'a third heading shows it'),
    ...line('spindle high or low', 'A high or low spindle', 'more headings on the other spindles show it'),
    ...(hidden.some((h) => h.kind === 'twisted shell')
      ? ['A twisted shell would hardly show in these readings.']
      : []),
  ];
}

/** The view as lines for a terminal, a record or a sheet; parts within their limits are left out. */
export function faultLines(view: FaultView): string[] {
  return view.rows
    .filter((row) => row.status !== 'within its limit')
    .flatMap((row) => [
      `${faultHeadline(row)}`,
      ...row.tests.map((test) => `  to tell them apart: ${test}`),
      ...row.advice.map((advice) => `  to do: ${advice}`),
    ]);
}

/** "Part at fault: left blade bent; end A 6.1 ± 0.8 mm above end B, limit 3 mm (bend left); sure to 99 %" */
export function faultHeadline(row: FaultRow): string {
  const sure =
    row.probability > 0.99 ? 'sure to more than 99 %' : `sure to ${Math.floor(100 * row.probability)} %`;
  const perhaps = row.status === 'perhaps beyond its limit' ? ', perhaps not beyond it' : '';
  return `At fault: ${row.parts}; ${row.size}${perhaps}; ${sure}`;
}

/** A measure that is outside and stays so, however the adjusters are turned. */
export function cannotMendText(measure: string): string {
  return `Turning cannot mend ${measure}: a part has to be replaced or put right first`;
}
