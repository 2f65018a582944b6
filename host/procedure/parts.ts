/** Tests that tell one part from another, and what becomes of a part at fault. Asked once each, and only when it matters. */
import type { Explanation } from '../../protocol/solver';
import type { Part } from '../ledger/events';
import type { Assessment } from './assess';
import { pathOf } from './path';
import { spindleToRefit } from './refit';
import { watchReading, watchedHeightMm } from './watch';
import type { JobState, Setting } from './state';
import type { Task } from './task';

/** More likely than not: what is beyond its limit with less is not worth a part. */
const LIKELY = 0.5;

/** What a part's fault looks like to the solver. */
const PART_OF: Partial<Record<Explanation['kind'], Part>> = {
  'bent blade': 'blade',
  'bent shaft or dirty hub face': 'shaft or hub',
  'spindle high or low': 'spindle',
  'spindle tilted': 'spindle',
};

/** The next test, or the question what becomes of a part; undefined when nothing is left to be asked. */
export function lookAtParts(state: JobState, setting: Setting, assessment: Assessment): Task | undefined {
  if (!pathOf(state).tests || assessment.result.decision === 'pass') return undefined;
  const refit = spindleToRefit(state, assessment);
  if (refit !== undefined) return { do: 'refit blade', spindle: refit };
  return (
    swapBlade(state, setting, assessment) ??
    pushAndPull(state, setting, assessment) ??
    decide(state, setting, assessment)
  );
}

/** Parts at fault by spindle: more than one where the readings cannot tell them apart. */
export function partsAtFault(
  state: JobState,
  setting: Setting,
  assessment: Assessment,
): { readonly spindle: string; readonly parts: readonly Part[]; readonly sizeMm: number }[] {
  return assessment.faults().findings.flatMap(({ explanations }) => {
    const first = explanations[0];
    const spindle = state.profile.spindles[first?.spindle ?? -1]?.name;
    if (first === undefined || spindle === undefined || first.beyondLimit <= LIKELY) return [];
    const known = explanations.flatMap((e) => PART_OF[e.kind] ?? []);
    // A blade that is known to be good is not what is bent.
    const parts = [...new Set(known)].filter((p) => p !== 'blade' || !setting.goodBlades.includes(spindle));
    return parts.length === 0 ? [] : { spindle, parts, sizeMm: first.sizeMm };
  });
}

/** Where the blade cannot be refitted half a turn round now, a blade known to be good tells as much. */
function swapBlade(state: JobState, setting: Setting, assessment: Assessment): Task | undefined {
  const unclear = partsAtFault(state, setting, assessment).find(
    ({ spindle, parts }) =>
      parts.includes('blade') &&
      parts.includes('shaft or hub') &&
      !isAsked(state, spindle, 'good blade on trial'),
  );
  return unclear === undefined ? undefined : { do: 'swap blade', spindle: unclear.spindle };
}

/** A spindle that stands high, low or tilted may have a worn bearing: the tip is pushed and pulled, and its play read. */
function pushAndPull(state: JobState, setting: Setting, assessment: Assessment): Task | undefined {
  // A ruler cannot follow it.
  if (state.ruler !== undefined) return undefined;
  const doubtful = partsAtFault(state, setting, assessment).find(
    ({ spindle, parts }) => parts.includes('spindle') && !state.plays.some((p) => p.spindle === spindle),
  );
  if (doubtful === undefined) return undefined;
  const { spindle } = doubtful;
  const headingDeg = assessment.readings.find((r) => r.target.spindle === spindle)?.target.headingDeg ?? 0;
  const tip = { spindle, headingDeg, end: 'A' } as const;
  const start = watchedHeightMm(state, 'push and pull', 'start', spindle);
  return start === undefined
    ? watchReading(state, tip, 'push and pull', 'start')
    : { do: 'push and pull', spindle, startMm: start };
}

function decide(state: JobState, setting: Setting, assessment: Assessment): Task | undefined {
  for (const { spindle, parts, sizeMm } of partsAtFault(state, setting, assessment)) {
    const [part, ...others] = parts;
    if (part !== undefined && others.length === 0 && !isAsked(state, spindle, part))
      return { do: 'decide part', spindle, part, sizeMm };
  }
  return undefined;
}

function isAsked(state: JobState, spindle: string, part: Setting['decided'][number]['part']): boolean {
  return state.settings.some((s) => s.decided.some((d) => d.spindle === spindle && d.part === part));
}
