/** What was to be turned at one stage and what was expected of it, for any face. */
import type { MachineProfile } from '../machines/profile';
import type { Assessment } from '../procedure/assess';
import type { JobState, Setting } from '../procedure/state';
import { findingText } from './turning-words';
import { atLeast, turnText } from './words';

export interface TurningView {
  /** Whole steps; adjusters that stay as they are are left out. */
  readonly asked: readonly { readonly adjuster: string; readonly turns: number; readonly raiseMm: number }[];
  /** Measures as they should be after it, U with k = 2. */
  readonly expected: readonly {
    readonly name: string;
    readonly valueMm: number;
    readonly expandedMm: number;
  }[];
  readonly jointProbability: number;
  /** What keeps the measures from their targets, in words; empty when nothing does. */
  readonly stoppedBy: readonly string[];
  /** A slightly different centre of gravity would rest the deck otherwise. */
  readonly fragile: boolean;
  /** The hanger that is better set by feel after the others. */
  readonly lastByFeel?: string;
  /** From how many past jobs the ratios are known. */
  readonly learnedFromJobs: number;
}

/** Undefined where nothing was to be turned: a pass, or a deck that would tip. */
export function turningView(
  state: JobState,
  setting: Setting,
  assessment: Assessment,
): TurningView | undefined {
  if (assessment.result.decision === 'pass' && setting.turned.length === 0) return undefined;
  const turning = assessment.turning();
  if (turning === undefined) return undefined;
  const { adjusters, hangers } = state.profile;
  const ends = adjusters.filter((_, j) => turning.atTravelEnd[j] === true).map((a) => a.name);
  const last = hangers[turning.lastByFeel];
  return {
    asked: adjusters.flatMap(({ name }, j) => {
      const turns = turning.turns[j] ?? 0;
      return turns === 0 ? [] : [{ adjuster: name, turns, raiseMm: turning.raiseMm[j] ?? 0 }];
    }),
    expected: turning.after.flatMap((m) =>
      m.determined ? [{ name: m.name, valueMm: m.valueMm, expandedMm: 2 * m.standardUncertaintyMm }] : [],
    ),
    jointProbability: turning.jointProbability,
    stoppedBy: turning.limitedBy.map((stop) => stopText(stop, ends)),
    fragile: turning.fragile,
    ...(last === undefined ? {} : { lastByFeel: last.name }),
    learnedFromJobs: state.learned?.jobs ?? 0,
  };
}

function stopText(stop: string, ends: readonly string[]): string {
  if (stop === 'travel') return `travel of the ${ends.join(' and ')} adjuster ends`;
  if (stop === 'too few adjusters') return 'the adjusters cannot move the deck in every way that is wanted';
  if (stop.startsWith('bend ')) return `${stop.slice(5)}: no adjuster mends a bent blade`;
  if (stop.startsWith('not determined ')) return `${stop.slice(15)} was not measured`;
  return stop.replace(/^out of reach (.*)$/, '$1 stays outside its limits');
}

/** For terminal, records and sheet. */
export function turningLines(profile: MachineProfile, view: TurningView): string[] {
  const asked = view.asked.flatMap(({ adjuster, turns, raiseMm }) => {
    const found = profile.adjusters.find((a) => a.name === adjuster);
    return found === undefined ? [] : [`to turn: ${turnText(found, turns, raiseMm)}`];
  });
  if (asked.length === 0) return view.stoppedBy.map((stop) => `not by turning: ${stop}`);
  const tips = new Set(profile.measures.filter((m) => m.what === 'tips').map((m) => m.name));
  const expected = view.expected
    .filter((m) => tips.has(m.name))
    .map((m) => `${m.name} ${m.valueMm.toFixed(1).replace(/^-/, '−')} ± ${m.expandedMm.toFixed(1)} mm`);
  return [
    ...asked,
    `expected after it: ${expected.join(', ')}; all limits kept with a probability of ${atLeast(view.jointProbability)}`,
    ...view.stoppedBy.map((stop) => `not reached: ${stop}`),
    ...(view.lastByFeel === undefined
      ? []
      : [`the ${view.lastByFeel} hanger may come out slack: set it last, by feel`]),
    ...(view.fragile
      ? ['the deck may rest otherwise than reckoned: its weight is near a diagonal of its hangers']
      : []),
    ...(view.learnedFromJobs === 0
      ? []
      : [
          `what one turn does is known from ${view.learnedFromJobs} past ${view.learnedFromJobs === 1 ? 'job' : 'jobs'}`,
        ]),
  ];
}

/** What the technician found when the turning before a setting was asked about. */
export function checkedText(setting: Pick<Setting, 'turningChecked'>): string | undefined {
  return setting.turningChecked === undefined
    ? undefined
    : `the turning before was asked about: ${findingText(setting.turningChecked)}`;
}
