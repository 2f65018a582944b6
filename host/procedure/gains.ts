/** What one turn of each adjuster really does on this machine, from rounds of turning: this job's own and those of past jobs. */
import {
  explainRound,
  learnGains,
  solveTips,
  withGains,
  type RoundExplanation,
  type Gain,
  type Hanging,
  type Layout,
  type TipReading,
  type TurningRound,
  type Widths,
} from '../../protocol/solver';
import type { LearnedGains, TurningFinding } from '../ledger/events';
import type { MachineProfile } from '../machines/profile';
import type { JobState, Setting } from './state';
import { ratioUncertaintyOf } from './taped-ratio';

/** What the rounds are made of: layout, and the readings of one setting with the widths that they are solved with. */
export interface Readings {
  readonly layout: Layout;
  readonly of: (setting: Setting) => readonly TipReading[];
  readonly widths: Widths;
}

/** The profile's hangers and adjusters, each ratio as past jobs of this model and machine taught it. */
export function hangingWith(profile: MachineProfile, learned: LearnedGains | undefined): Hanging {
  const index = new Map(profile.hangers.map((h, i) => [h.name, i]));
  const nominal: Hanging = {
    hangers: profile.hangers,
    centreOfGravity: profile.centreOfGravity,
    adjusters: profile.adjusters.map((a) => ({
      moves: a.moves.map((m) => ({ hanger: index.get(m.hanger) ?? -1, mmPerTurn: m.mmPerTurn })),
      ratioUncertainty: ratioUncertaintyOf(profile, a),
      travelTurns: a.travelTurns,
    })),
  };
  if (learned === undefined) return nominal;
  const gains = profile.adjusters.map((a): Gain => {
    const found = learned.adjusters.find((l) => l.adjuster === a.name);
    return found ?? { factor: 1, standardUncertainty: ratioUncertaintyOf(profile, a) };
  });
  return withGains(nominal, gains);
}

/** The same, with what the rounds of this job before `setting` have taught besides. */
export function hangingAt(state: JobState, setting: Setting, readings: Readings): Hanging {
  const hanging = travelLeft(state, setting, hangingWith(state.profile, state.learned));
  const rounds = roundsBefore(state, setting, readings, 0);
  return rounds.length === 0 ? hanging : withGains(hanging, learnGains(hanging, rounds).gains);
}

/** What the turns of this job before `setting` have left of every adjuster's travel. */
function travelLeft(state: JobState, setting: Setting, hanging: Hanging): Hanging {
  const made = state.profile.adjusters.map(() => 0);
  const last = state.settings.indexOf(setting);
  for (let i = 0; i < last; i += 1) {
    const turned = state.settings[i];
    if (turned === undefined) continue;
    corrected(state.profile.adjusters, turned, state.settings[i + 1]?.turningChecked).forEach(
      (turns, j) => (made[j] = (made[j] ?? 0) + turns),
    );
  }
  return {
    ...hanging,
    adjusters: hanging.adjusters.map((a, j) => ({
      ...a,
      travelTurns: [
        Math.min(0, a.travelTurns[0] - (made[j] ?? 0)),
        Math.max(0, a.travelTurns[1] - (made[j] ?? 0)),
      ],
    })),
  };
}

/**
 * What the round of turning before `setting` looks like, when it did not come out as was said of it: names in place of
 * numbers, empty when nothing that is known explains it. Undefined when it came out as said, or when there was none.
 */
export function findings(
  state: JobState,
  setting: Setting,
  readings: Readings,
): TurningFinding[] | undefined {
  const before = state.settings[state.settings.indexOf(setting) - 1];
  if (before === undefined || setting.stage !== 'after turning') return undefined;
  const round = roundBetween(state, before, setting, readings, 0);
  if (round === undefined) return undefined;
  const explanations = explainRound(hangingAt(state, before, readings), round);
  if (explanations.some((e) => e.what === 'as said')) return undefined;
  return explanations.map((e) => named(state.profile, e));
}

/** A ratio that is known no better than this share of itself is no ratio to turn by. */
const UNKNOWN_RATIO = 0.3;

/**
 * One trial turn of every adjuster whose ratio is not known, all the same way so that the hangers keep carrying: up, or
 * down where one of them has no turn left for that. Undefined when every ratio is known or has had its trial in this job.
 */
export function trialTurns(state: JobState, { adjusters }: Hanging): number[] | undefined {
  const tried = state.settings.slice(0, -1).flatMap((s) => s.turned.map((t) => t.adjuster));
  const unknown = adjusters.map(
    (a, j) => a.ratioUncertainty > UNKNOWN_RATIO && !tried.includes(state.profile.adjusters[j]?.name ?? ''),
  );
  if (!unknown.includes(true)) return undefined;
  const up = adjusters.every((a, j) => !unknown[j] || a.travelTurns[1] >= 1);
  const turns = adjusters.map((a, j) => {
    if (!unknown[j]) return 0;
    return up ? 1 : Math.max(-1, a.travelTurns[0]);
  });
  return turns.some((t) => t !== 0) ? turns : undefined;
}

/** All rounds of a job that were read before and after, oldest first; `setting` is the last one that may be looked at. */
export function roundsBefore(
  state: JobState,
  setting: Setting | undefined,
  readings: Readings,
  machine: number,
): TurningRound[] {
  const last = setting === undefined ? state.settings.length - 1 : state.settings.indexOf(setting);
  const rounds: TurningRound[] = [];
  for (let i = 1; i <= last; i += 1) {
    const before = state.settings[i - 1];
    const after = state.settings[i];
    if (before === undefined || after?.stage !== 'after turning') continue;
    // The setting in hand is asked about once it has been read; of others the record says whether they were.
    if (after !== setting && after.assessed.length === 0) continue;
    const round = roundBetween(state, before, after, readings, machine);
    if (round !== undefined) rounds.push(round);
  }
  return rounds;
}

/**
 * Undefined when one of the two was not read well enough. What stays the same from one to the other (floor, zero of the
 * fixture, spindles) is left out of the uncertainty of the change.
 */
function roundBetween(
  state: JobState,
  before: Setting,
  after: Setting,
  readings: Readings,
  machine: number,
): TurningRound | undefined {
  if (before.assessed.length === 0) return undefined;
  // Nobody counted what was turned by the live height.
  if (before.turned.some((t) => t.live === true)) return undefined;
  const widths: Widths = {
    ...readings.widths,
    floorMm: 0,
    offsetMm: 0,
    gain: 0,
    spindleHeightMm: 0,
    spindleTiltRad: 0,
  };
  const poseOf = (setting: Setting) => solveTips(readings.layout, readings.of(setting), widths, []).pose;
  const from = poseOf(before);
  const to = poseOf(after);
  if (from === 'not determined' || to === 'not determined') return undefined;
  const { adjusters, hangers } = state.profile;
  const slackBefore = (hanger: string) => before.felt[hanger] === 'slack' && !before.takenUp.includes(hanger);
  return {
    machine,
    turns: corrected(adjusters, before, after.turningChecked),
    carrying: hangers.map((h) => !slackBefore(h.name) && after.felt[h.name] !== 'slack'),
    change: [to.z0Mm - from.z0Mm, to.slopeX - from.slopeX, to.slopeY - from.slopeY],
    covariance: to.covariance.map((c, i) => c + (from.covariance[i] ?? 0)),
  };
}

/** Turns made, as the technician found them to have been when asked. */
function corrected(
  adjusters: MachineProfile['adjusters'],
  before: Setting,
  finding: TurningFinding | undefined,
): number[] {
  const said = (name: string) =>
    before.turned.filter((t) => t.adjuster === name).reduce((sum, t) => sum + t.turns, 0);
  return adjusters.map(({ name }) => {
    if (finding?.what === 'nothing moved') return 0;
    if (finding?.what === 'wrong way' && finding.adjuster === name) return -said(name);
    if (finding?.what === 'did not move' && finding.adjuster === name) return 0;
    if (finding?.what === 'other adjuster') {
      if (finding.adjuster === name) return 0;
      if (finding.instead === name) return said(name) + said(finding.adjuster);
    }
    return said(name);
  });
}

function named({ adjusters }: MachineProfile, explanation: RoundExplanation): TurningFinding {
  const name = (index: number) => adjusters[index]?.name ?? '';
  switch (explanation.what) {
    case 'as said':
    case 'nothing moved':
      return { what: explanation.what };
    case 'wrong way':
    case 'did not move':
      return { what: explanation.what, adjuster: name(explanation.adjuster) };
    case 'other adjuster':
      return {
        what: 'other adjuster',
        adjuster: name(explanation.adjuster),
        instead: name(explanation.instead),
      };
  }
}
