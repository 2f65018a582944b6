/** One machine of the campaign: the whole procedure, the hand method beside it, and what is to be counted of both. */
import type { Explanation } from '../../protocol/solver';
import type { JobEvent } from '../../host/ledger/events';
import type { Fault } from '../../host/simulation/population';
import { seededRandom } from '../../host/simulation/random';
import { assumedShop } from './assumed-shop';
import { byteStreamJob } from './byte-stream-job';
import { listProfiles } from '../../host/machines/load';
import { directJob, type DirectJob, type SolvedStage } from './direct-job';
import { handMethod, type HandResult } from './hand-method';
import { drawMachine, type Machine } from './population';
import { surveyedBay } from './surveyed-bay';

export type Sequence = 'quick' | 'full';

/** What one machine came to: plain data, small enough to be passed between processes. */
export interface Row {
  readonly number: number;
  readonly population: Machine['population'];
  readonly model: string;
  readonly spindles: number;
  readonly surveyed: boolean;
  readonly byteStream: boolean;
  readonly sequence: Sequence;
  /** What the population drew of it: how far out it came, and how well its ratios are known. */
  readonly hangerErrorSdMm: number;
  readonly ratioSd: number;
  readonly faults: readonly FaultRow[];
  /** The job did not end as jobs do; the rest is empty then. */
  readonly trouble: string | undefined;
  readonly decision: 'pass' | 'fail' | 'undecided';
  readonly readings: number;
  /** Modelled seconds of measuring up to the last result before anything was turned. */
  readonly arrivalSeconds: number;
  readonly arrivalReadings: number;
  readonly stages: readonly StageRow[];
  readonly hand: HandResult;
}

export interface StageRow {
  readonly stage: string;
  readonly setting: number;
  readonly decision: 'pass' | 'fail' | 'undecided';
  readonly measures: readonly MeasureRow[];
}

export interface MeasureRow {
  readonly name: string;
  readonly adjustable: boolean;
  readonly lowerMm: number;
  readonly upperMm: number;
  readonly targetMm: number;
  readonly trueMm: number;
  /** Value and standard uncertainty; undefined when the readings do not determine it. */
  readonly solved: { readonly valueMm: number; readonly uncertaintyMm: number } | undefined;
}

export interface FaultRow {
  readonly kind: Fault['kind'];
  /** Size over the limit of its part. */
  readonly inLimits: number;
  /** Explanations of the finding that holds the right one, or of the likeliest finding; empty: nothing was found. */
  readonly said: readonly string[];
  /** `right`: named first and alone; `in a group`: among others that the readings cannot tell apart. */
  readonly outcome: 'right' | 'in a group' | 'wrong part' | 'nothing' | 'said to be hidden';
}

const NOTHING = {
  faults: [],
  decision: 'undecided',
  readings: 0,
  arrivalSeconds: 0,
  arrivalReadings: 0,
  stages: [],
} as const;

/** Seconds of the cost model: clamping on another tip, turning the blade with the clamp on, seating anew, one capture. */
const COST_S = { clamp: 25, turn: 6, seat: 45, capture: 3 };

/** One job in a hundred goes through the byte stream, of both populations in turn. */
export const throughByteStream = (number: number): boolean =>
  number % 100 === (Math.floor(number / 100) % 2 === 0 ? 50 : 51);

/** Each population is read by the deciding sequence and by the full one in turn. */
export const sequenceOf = (number: number): Sequence =>
  number % 4 === 1 || number % 4 === 2 ? 'quick' : 'full';

const PROFILES = listProfiles();

/**
 * Machine `number` of a campaign, of the machines that this version knows. What is `matched` meets a floor and an eye as
 * the solver assumes them today; the frozen population has those that it assumed when it was frozen.
 */
export function machineOf(seed: number, number: number): Machine {
  const machine = drawMachine(seed, number, PROFILES);
  if (machine.population !== 'matched') return machine;
  const assumed = assumedShop(seededRandom(machine.seed).split('assumed'));
  return { ...machine, shop: { ...machine.shop, ...assumed } };
}

export async function runMachine(machine: Machine): Promise<Row> {
  const byteStream = throughByteStream(machine.number);
  const sequence = sequenceOf(machine.number);
  const common = {
    number: machine.number,
    population: machine.population,
    model: machine.profile.model,
    spindles: machine.profile.spindles.length,
    surveyed: machine.survey !== undefined,
    byteStream,
    sequence,
    hangerErrorSdMm: machine.shop.hangerErrorSdMm ?? NaN,
    ratioSd: machine.shop.ratioSd ?? NaN,
    hand: handMethod(machine),
  };
  try {
    const job = byteStream ? await byteStreamJob(machine, sequence) : jobOf(machine, sequence);
    const arrival = job.stages.filter((s) => s.stage === 'arrival').at(-1);
    return {
      ...common,
      trouble: undefined,
      faults: arrival === undefined ? [] : machine.faults.map((f) => faultRow(f, machine, arrival)),
      decision: job.state.closed ?? 'undecided',
      readings: job.state.readings.length,
      ...measuringOnArrival(job.events),
      stages: job.stages.map((s) => stageRow(machine, s)),
    };
  } catch (error) {
    const trouble = (error as Error).message;
    return { ...common, ...NOTHING, trouble };
  }
}

/** The job without firmware and byte stream; up to the first turning only, when so asked. */
export function jobOf(
  machine: Machine,
  sequence: Sequence,
  until: { readonly untilTurning?: true } = {},
): DirectJob {
  const { profile, seed, survey } = machine;
  return directJob(seed, profile, {
    ...machine.shop,
    faults: [...machine.wear, ...machine.faults],
    fixture: machine.fixture,
    sequence,
    ...until,
    ...(survey === undefined ? {} : { bay: (shop) => surveyedBay(profile, shop.floor, survey, seed) }),
  });
}

function stageRow({ profile }: Machine, { stage, setting, assessment, trueMm }: SolvedStage): StageRow {
  return {
    stage,
    setting,
    decision: assessment.result.decision,
    measures: profile.measures.map((m) => {
      const solved = assessment.solution.measures.find((s) => s.name === m.name);
      return {
        name: m.name,
        adjustable: m.what === 'tips',
        lowerMm: m.lowerMm,
        upperMm: m.upperMm,
        targetMm: m.targetMm,
        trueMm: trueMm[m.name] ?? NaN,
        solved:
          solved?.determined === true
            ? { valueMm: solved.valueMm, uncertaintyMm: solved.standardUncertaintyMm }
            : undefined,
      };
    }),
  };
}

/** Measuring only: what is done before the first nut is turned. Lowering the deck once is part of every inspection. */
function measuringOnArrival(events: readonly JobEvent[]) {
  let seconds = 0;
  let readings = 0;
  let placement = -1;
  let seatings = 0;
  for (const event of events) {
    if (event.type === 'turned' || event.type === 'tightened') break;
    if (event.type === 'deck seated') seatings += 1;
    if (event.type !== 'step asked' || event.target.kind !== 'tip') continue;
    readings += 1;
    seconds += COST_S.capture + (event.target.placement === placement ? COST_S.turn : COST_S.clamp);
    placement = event.target.placement;
  }
  return { arrivalSeconds: seconds + COST_S.seat * Math.max(0, seatings - 1), arrivalReadings: readings };
}

/** Limits of parts: that of the bend, and the shop's for a spindle. Common practice, no source. */
const PART_LIMIT_MM = 3;
const MEANS: Record<Fault['kind'], Explanation['kind']> = {
  'bent blade': 'bent blade',
  'bent shaft': 'bent shaft or dirty hub face',
  'high spindle': 'spindle high or low',
  'tilted spindle': 'spindle tilted',
};

function faultRow(fault: Fault, { profile }: Machine, { assessment }: SolvedStage): FaultRow {
  const spindle = profile.spindles.findIndex((s) => s.name === fault.spindle);
  const radiusMm = profile.spindles[spindle]?.tipRadiusMm ?? 0;
  const isRight = (e: Pick<Explanation, 'kind' | 'spindle'>) =>
    e.kind === MEANS[fault.kind] && e.spindle === spindle;
  const { findings, hidden } = assessment.faults();
  const finding = findings.find((f) => f.explanations.some(isRight)) ?? findings[0];
  const explanations = finding?.explanations ?? [];
  const said = explanations.map((e) =>
    e.spindle === spindle || e.spindle < 0 ? e.kind : `${e.kind} elsewhere`,
  );
  const first = explanations[0];
  const outcome =
    first === undefined
      ? hidden.some(isRight)
        ? 'said to be hidden'
        : 'nothing'
      : !explanations.some(isRight)
        ? 'wrong part'
        : explanations.length === 1
          ? 'right'
          : 'in a group';
  return { kind: fault.kind, inLimits: sizeMm(fault, radiusMm) / PART_LIMIT_MM, said, outcome };
}

/** As the solver counts it: end above end, height, or rise across the blade's circle. */
function sizeMm(fault: Fault, radiusMm: number): number {
  switch (fault.kind) {
    case 'bent blade':
    case 'bent shaft':
      return Math.abs(fault.differenceMm);
    case 'high spindle':
      return Math.abs(fault.heightMm);
    case 'tilted spindle':
      return 2 * radiusMm * Math.sqrt(fault.slopeX ** 2 + fault.slopeY ** 2);
  }
}
