/** What the rows of a campaign come to: counts and shares, for one population. Nothing here runs a job. */
import { acceptedShare } from '../../protocol/solver';
import type { FaultRow, MeasureRow, Row, Sequence, StageRow } from './one-machine';

/** So many of so many. */
export interface Share {
  readonly count: number;
  readonly of: number;
}

export interface Figures {
  readonly population: string;
  readonly machines: number;
  readonly trouble: readonly string[];
  readonly tool: {
    readonly accepted: Share;
    readonly rejected: Share;
    readonly undecided: Share;
    /** Accepted although a limited measure is truly outside. */
    readonly falselyAccepted: Share;
    /** Machine numbers of those, to be replayed. */
    readonly falselyAcceptedMachines: readonly number[];
    /** Truly inside as they came: accepted without a nut being turned. */
    readonly insideArrivalsAccepted: Share;
    /** Inside by U and more as they came, and undecided all the same, by the sequence that the job began with. */
    readonly undecidedInside: Readonly<Record<Sequence, Readonly<Record<Floors, UndecidedFigures>>>>;
    /** Inside by U and more at a result that says fail. */
    readonly rejectedInside: Share;
    readonly rounds: readonly RoundFigures[];
    /** U (k = 2) holds the truth: of the first result, and of the last one before turning, when reading has ended. */
    readonly coverage: Readonly<Record<'first' | 'last', Coverage>>;
    readonly faults: FaultFigures;
    /** Good machines of three spindles, quick sequence: modelled seconds of measuring, and readings. */
    readonly goodThreeSpindles: {
      readonly machines: number;
      readonly medianSeconds: number;
      readonly medianReadings: number;
    };
  };
  readonly hand: {
    readonly accepted: Share;
    readonly falselyAccepted: Share;
    readonly insideArrivalsAccepted: Share;
    readonly medianRoundsWhenTurned: number;
    readonly medianMinutes: number;
    /** What the tape says at the end, within 1/16 in of the truth. */
    readonly tapeWithinMark: Share;
  };
}

export type Coverage = Readonly<Record<'level' | 'rake' | 'cut height' | 'bend', Share>>;

/** Machines that are inside by the U of their first result and more: how many are undecided. */
export interface UndecidedFigures {
  /** After the sequence itself. */
  readonly afterIt: Share;
  /** As many would be by the rule alone, were every estimate off by a normal error of the stated u. */
  readonly byRule: Share;
  /** The same machines when reading ended, other readings and seatings included. */
  readonly atEnd: Share;
  /** Other machines: those inside by the smaller U that there is then. */
  readonly insideAtEnd: Share;
}

export interface RoundFigures {
  readonly name: string;
  readonly afterOne: Share;
  readonly afterTwo: Share;
}

export interface FaultFigures {
  /** Single faults of twice their limit and more. */
  readonly large: number;
  readonly right: number;
  readonly inAGroup: number;
  readonly wrongPart: number;
  readonly nothing: number;
  readonly hidden: number;
  /** Kind put in -> what was said -> how often. */
  readonly confusion: Readonly<Record<string, Readonly<Record<string, number>>>>;
}

export type Floors = 'any' | 'surveyed';

const TAPE_MM = 25.4 / 16;
/** Draws of normal errors for a machine. */
const RULE_POINTS = 256;

export function figuresOf(population: string, all: readonly Row[]): Figures {
  const trouble = all.filter((r) => r.trouble !== undefined);
  const rows = all.filter((r) => r.trouble === undefined && r.stages.length > 0);
  const accepted = rows.filter((r) => r.decision === 'pass');
  const falsely = accepted.filter((r) => !isInside(last(r)));
  const insideArrivals = rows.filter((r) => isInside(arrivalFirst(r)));
  const results = rows.flatMap((r) => r.stages).filter(insideByU);
  return {
    population,
    machines: all.length,
    trouble: trouble.map((r) => `machine ${r.number}: ${r.trouble ?? ''}`),
    tool: {
      accepted: share(rows, (r) => r.decision === 'pass'),
      rejected: share(rows, (r) => r.decision === 'fail'),
      undecided: share(rows, (r) => r.decision === 'undecided'),
      falselyAccepted: { count: falsely.length, of: accepted.length },
      falselyAcceptedMachines: falsely.map((r) => r.number),
      insideArrivalsAccepted: share(insideArrivals, (r) => arrivalLast(r).decision === 'pass'),
      undecidedInside: {
        quick: undecidedOnFloors(rows.filter((r) => r.sequence === 'quick')),
        full: undecidedOnFloors(rows.filter((r) => r.sequence === 'full')),
      },
      rejectedInside: share(results, (s) => s.decision === 'fail'),
      rounds: roundFigures(rows),
      coverage: { first: coverageOf(rows.map(arrivalFirst)), last: coverageOf(rows.map(arrivalLast)) },
      faults: faultFigures(rows),
      goodThreeSpindles: inspection(
        rows.filter((r) => r.spindles === 3 && r.sequence === 'quick' && isInside(arrivalLast(r))),
      ),
    },
    hand: handFigures(all),
  };
}

/** The error of each arrival value in standard uncertainties, for the curve of coverage against k. */
export function standardisedErrors(rows: readonly Row[]): number[] {
  return rows
    .filter((r) => r.stages.length > 0)
    .flatMap((r) => arrivalLast(r).measures.filter((m) => m.adjustable))
    .flatMap((m) =>
      m.solved === undefined ? [] : [Math.abs(m.solved.valueMm - m.trueMm) / m.solved.uncertaintyMm],
    );
}

/** What was said of a measure at the end minus what was true: the tool and the hand method. */
export function finalErrorsMm(rows: readonly Row[], name: string): { tool: number[]; hand: number[] } {
  return {
    tool: rows.flatMap((r) =>
      (r.stages.at(-1)?.measures ?? []).flatMap((m) =>
        m.name === name && m.solved !== undefined ? [m.solved.valueMm - m.trueMm] : [],
      ),
    ),
    hand: rows.flatMap((r) =>
      r.hand.measures.flatMap((m) =>
        m.name === name && m.tapeMm !== undefined ? [m.tapeMm - m.trueMm] : [],
      ),
    ),
  };
}

/** How far a measure truly was from its target when the job was over. */
export function finalDeviationsMm(rows: readonly Row[], name: string): { tool: number[]; hand: number[] } {
  const targets = rows.map((r) => r.stages.at(-1)?.measures.find((m) => m.name === name));
  return {
    tool: targets.flatMap((m) => (m === undefined ? [] : [m.trueMm - m.targetMm])),
    hand: rows.flatMap((r, i) => {
      const own = r.hand.measures.find((m) => m.name === name);
      const target = targets[i];
      return own === undefined || target === undefined ? [] : [own.trueMm - target.targetMm];
    }),
  };
}

export const percent = ({ count, of }: Share): number => (of === 0 ? NaN : (100 * count) / of);

/** The 95 % interval of a share after Wilson (1927), in per cent. */
export function interval({ count, of }: Share): [number, number] {
  const z = 1.96;
  const p = count / of;
  const middle = (p + (z * z) / (2 * of)) / (1 + (z * z) / of);
  const half = (z / (1 + (z * z) / of)) * Math.sqrt((p * (1 - p)) / of + (z * z) / (4 * of * of));
  return [100 * Math.max(0, middle - half), 100 * Math.min(1, middle + half)];
}

function share<T>(among: readonly T[], holds: (one: T) => boolean): Share {
  return { count: among.filter(holds).length, of: among.length };
}

function undecidedOnFloors(rows: readonly Row[]): Record<Floors, UndecidedFigures> {
  return { any: undecidedFigures(rows), surveyed: undecidedFigures(rows.filter((r) => r.surveyed)) };
}

function undecidedFigures(rows: readonly Row[]): UndecidedFigures {
  const inside = rows.filter((r) => insideByU(arrivalFirst(r)));
  const isUndecided = (stage: StageRow) => stage.decision === 'undecided';
  return {
    afterIt: share(inside, (r) => isUndecided(arrivalFirst(r))),
    byRule: {
      count: inside.reduce((sum, r) => sum + 1 - acceptedByRule(arrivalFirst(r)), 0),
      of: inside.length,
    },
    atEnd: share(inside, (r) => isUndecided(arrivalLast(r))),
    insideAtEnd: share(
      rows.filter((r) => insideByU(arrivalLast(r))),
      (r) => isUndecided(arrivalLast(r)),
    ),
  };
}

/** How often the rule accepts a machine that is truly like this one, by the solver's own count, measures taken apart. */
function acceptedByRule({ measures }: StageRow): number {
  const covariance = measures.flatMap((m, i) =>
    measures.map((_, j) => (i === j ? (m.solved?.uncertaintyMm ?? NaN) ** 2 : 0)),
  );
  return acceptedShare(
    measures,
    covariance,
    RULE_POINTS,
    measures.map((m) => m.trueMm),
  );
}

function coverageOf(stages: readonly StageRow[]): Coverage {
  return {
    level: coverage(stages, (m) => m.name === 'level'),
    rake: coverage(stages, (m) => m.name === 'rake'),
    'cut height': coverage(stages, (m) => m.name === 'cut height'),
    bend: coverage(stages, (m) => !m.adjustable),
  };
}

function coverage(stages: readonly StageRow[], which: (m: MeasureRow) => boolean): Share {
  const solved = stages.flatMap((s) => s.measures.filter(which));
  return share(
    solved.filter((m) => m.solved !== undefined),
    ({ solved: s, trueMm }) => s !== undefined && Math.abs(s.valueMm - trueMm) <= 2 * s.uncertaintyMm,
  );
}

/** Machines without a fault of a part that came with the sd of 5 mm and had to be turned. */
function roundFigures(rows: readonly Row[]): RoundFigures[] {
  const turned = rows.filter(
    (r) =>
      r.faults.length === 0 && r.hangerErrorSdMm === 5 && r.stages.some((s) => s.stage === 'after turning'),
  );
  const of = (name: string, among: readonly Row[]): RoundFigures => ({
    name,
    afterOne: share(among, (r) => isAdjusted(afterRound(r, 1))),
    afterTwo: share(among, (r) => isAdjusted(afterRound(r, 2))),
  });
  return [0.03, 0.1]
    .map((sd) =>
      of(
        `ratios ${100 * sd} % off`,
        turned.filter((r) => r.ratioSd === sd),
      ),
    )
    .filter((f) => f.afterOne.of > 0);
}

/** The truth after so many rounds of turning, or after all if there were fewer. */
function afterRound(row: Row, round: number): StageRow | undefined {
  const rounds = new Map<number, StageRow>();
  for (const stage of row.stages)
    if (stage.stage === 'after turning' && !rounds.has(stage.setting)) rounds.set(stage.setting, stage);
  const stages = [...rounds.values()];
  return stages[Math.min(round, stages.length) - 1];
}

function faultFigures(rows: readonly Row[]): FaultFigures {
  const faults = rows.filter((r) => r.faults.length === 1).flatMap((r) => r.faults);
  const large = faults.filter((f) => f.inLimits >= 2);
  const count = (outcome: FaultRow['outcome']) => large.filter((f) => f.outcome === outcome).length;
  const confusion: Record<string, Record<string, number>> = {};
  for (const fault of large) {
    const said = fault.said.length === 0 ? fault.outcome : [...new Set(fault.said)].sort().join(' or ');
    const row = (confusion[fault.kind] ??= {});
    row[said] = (row[said] ?? 0) + 1;
  }
  return {
    large: large.length,
    right: count('right'),
    inAGroup: count('in a group'),
    wrongPart: count('wrong part'),
    nothing: count('nothing'),
    hidden: count('said to be hidden'),
    confusion,
  };
}

function inspection(good: readonly Row[]) {
  return {
    machines: good.length,
    medianSeconds: median(good.map((r) => r.arrivalSeconds)),
    medianReadings: median(good.map((r) => r.arrivalReadings)),
  };
}

function handFigures(rows: readonly Row[]): Figures['hand'] {
  const accepted = rows.filter((r) => r.hand.accepted);
  const inside = (r: Row) => r.hand.measures.every((m) => m.trueMm >= m.lowerMm && m.trueMm <= m.upperMm);
  const turned = rows.filter((r) => r.hand.rounds > 0);
  const taped = rows.flatMap((r) => r.hand.measures).filter((m) => m.tapeMm !== undefined);
  const insideArrivals = rows.filter((r) => r.stages.length > 0 && isInside(arrivalFirst(r)));
  return {
    accepted: { count: accepted.length, of: rows.length },
    falselyAccepted: share(accepted, (r) => !inside(r)),
    insideArrivalsAccepted: share(insideArrivals, (r) => r.hand.acceptedOnArrival),
    medianRoundsWhenTurned: median(turned.map((r) => r.hand.rounds)),
    medianMinutes: median(rows.map((r) => r.hand.minutes)),
    tapeWithinMark: share(taped, (m) => Math.abs((m.tapeMm ?? NaN) - m.trueMm) <= TAPE_MM),
  };
}

const arrivals = (row: Row) => row.stages.filter((s) => s.stage === 'arrival');
const arrivalFirst = (row: Row): StageRow => arrivals(row)[0];
const arrivalLast = (row: Row): StageRow => arrivals(row).at(-1) as StageRow;
const last = (row: Row): StageRow => row.stages.at(-1) as StageRow;

const isWithin = (m: MeasureRow) => m.trueMm >= m.lowerMm && m.trueMm <= m.upperMm;
const isInside = (stage: StageRow) => stage.measures.every(isWithin);
const isAdjusted = (stage: StageRow | undefined) =>
  stage?.measures.every((m) => !m.adjustable || isWithin(m)) === true;

const insideByU = (stage: StageRow) => stage.measures.every((m) => isInsideByU(m));

function isInsideByU({ solved, trueMm, lowerMm, upperMm }: MeasureRow): boolean {
  if (solved === undefined) return false;
  const u = 2 * solved.uncertaintyMm;
  return trueMm >= lowerMm + u && trueMm <= upperMm - u;
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? NaN;
}
