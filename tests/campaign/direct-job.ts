/**
 * A whole levelling job in the simulated physics, through the real procedure and solver but without firmware and byte
 * stream, so that thousands can be run. The truth is looked at only to compare.
 */
import { captureHeightUm } from '../../protocol/solver';
import type { Body } from '../../protocol/wire/messages';
import type { ReadTask } from '../../host/conduct/hands';
import { isWatched, simulatedWork, type SimulatedWork, type Ways } from '../../host/cli/simulated-work';
import type { JobEvent, LearnedGains, Use } from '../../host/ledger/events';
import type { MachineProfile } from '../../host/machines/profile';
import { refusal } from '../../host/procedure/admit';
import {
  askedEvent,
  assessedEvent,
  eventsFor,
  type AnswerTo,
  type Question,
} from '../../host/procedure/answer';
import { apply, currentSetting, type JobState } from '../../host/procedure/state';
import { nextTask } from '../../host/procedure/task';
import type { Assessment } from '../../host/procedure/assess';
import {
  captureDirectly,
  drawFixture,
  type DirectCapture,
  type FixturePopulation,
} from '../../host/simulation/direct-capture';
import type { Population } from '../../host/simulation/population';
import { seededRandom } from '../../host/simulation/random';
import { createShop, type Shop, type ShopOptions } from '../../host/simulation/shop';
import type { TargetPlate } from '../../host/bay/target-plate';
import type { BayOfJob } from '../../host/bay/known-floor';
import type { FixtureBody } from '../../host/simulation/world';

/** One completed set of readings: what was solved and what was true when it was. */
export interface SolvedStage {
  readonly stage: string;
  /** Counts the settings of the adjusters, from 1. */
  readonly setting: number;
  readonly assessment: Assessment;
  readonly trueMm: Readonly<Record<string, number>>;
}

export interface DirectJob {
  readonly state: JobState;
  readonly shop: Shop;
  readonly stages: readonly SolvedStage[];
  readonly events: readonly JobEvent[];
}

const BODY: FixtureBody = [
  { edgeMm: [-30, 0, -40], beam: [0, 0, -1] },
  { edgeMm: [-30, 0, 0], beam: [0, 0, -1] },
];
const SAMPLES = 60;

/** A calibration without error: distance in um is the converter reading (counts x 256) over 100. */
const CALIBRATION: Omit<Body<'calibration'>, 'headPosition'> = {
  version: 1,
  setOnDay: 20000,
  beamX: 0,
  beamY: 0,
  beamZ: -1e9,
  edgeX: -30_000,
  edgeY: 0,
  edgeZ: 0,
  gravityBiasX: 0,
  gravityBiasY: 0,
  gravityBiasZ: 0,
  temperatureReference: 2000,
  temperatureGain: 0,
  knots: [4_000_000, 40_000, 16_000_000, 160_000],
};
export const CALIBRATIONS = [
  { ...CALIBRATION, headPosition: 0, edgeZ: -40_000 },
  { ...CALIBRATION, headPosition: 1 },
];

export interface DirectOptions extends Partial<Population>, Pick<ShopOptions, 'faults' | 'visit' | 'facing'> {
  /** The bay that the job chooses, known to whoever has surveyed the shop's floor. */
  readonly bay?: (shop: Shop) => BayOfJob;
  /** Target plates, as the technician states them; `plateMm` is what they truly are. */
  readonly plate?: TargetPlate;
  /** Widths of the fixture's own errors. */
  readonly fixture?: FixturePopulation;
  /** Stops when the machine as it came has been read and assessed. */
  readonly arrivalOnly?: boolean;
  /** Stops before anything is turned or tightened: what the job finds out about the machine as it came. */
  readonly untilTurning?: boolean;
  /** The machine as it really is, where the profile that the tool has is wrong about it. */
  readonly machine?: MachineProfile;
  readonly serialNumber?: string;
  readonly learned?: LearnedGains;
  /** Left out: as jobs read before there were sequences, both ends of every blade. */
  readonly sequence?: 'quick' | 'full';
  /** Who does the work, in place of the simulated technician of the demo. */
  readonly hands?: (shop: Shop) => SimulatedWork;
  /** Left out: a levelling. */
  readonly use?: Use;
  readonly ways?: Ways;
  /** No fixture: everything is read with a ruler. */
  readonly ruler?: boolean;
}

export function directJob(seed: number, profile: MachineProfile, options: DirectOptions = {}): DirectJob {
  const {
    bay,
    plate,
    fixture: fixturePopulation,
    arrivalOnly,
    untilTurning,
    machine = profile,
    serialNumber = '',
    learned,
    sequence,
    hands,
    use = 'levelling',
    ways,
    ruler = false,
    ...shopOptions
  } = options;
  const shop = createShop({ seed, profile: machine, body: BODY, ...shopOptions });
  const random = seededRandom(seed).split(
    `direct capture${options.visit === undefined ? '' : ` ${options.visit}`}`,
  );
  const fixture = drawFixture(random, fixturePopulation);
  const work = hands?.(shop) ?? simulatedWork(shop, ways);
  const stages: SolvedStage[] = [];
  const events: JobEvent[] = [];
  let state: JobState;
  const take = (event: JobEvent, before?: JobState) => {
    events.push(event);
    state = apply(before, event);
    return state;
  };
  state = take({
    type: 'job opened',
    job: 1,
    use,
    profile,
    serialNumber,
    workOrder: '',
    technician: '',
    simulated: true,
    ...(sequence === undefined ? {} : { sequence }),
    ...(learned === undefined ? {} : { learned }),
  });
  const record = (event: JobEvent) => {
    const refused = refusal(state, event);
    if (refused !== undefined) throw refused;
    take(event, state);
  };
  if (bay !== undefined) record({ type: 'bay chosen', job: 1, ...bay(shop) });
  if (plate !== undefined) record({ type: 'plates laid', job: 1, plate });
  if (ruler) record({ type: 'ruler taken up', job: 1, expandedMm: 1.5 });
  let captures = 0;
  const capture = (): DirectCapture => {
    const direct = captureDirectly(shop, fixture, SAMPLES, random);
    if (direct === undefined) throw new Error(`seed ${seed}: no floor within reach`);
    return direct;
  };
  const read = (task: ReadTask) => {
    const asked = askedEvent(task, state);
    record(asked);
    if (work.bring(task) === 'clamped anew') {
      record({ type: 'clamped anew', job: 1, step: asked.step });
      return;
    }
    captures += 1;
    const body = asCaptured(capture(), captures, asked.step);
    record({ type: 'captured', job: 1, fixtureId: 'direct', capture: body });
  };
  const answer = (question: Question): AnswerTo<Question> => {
    if (isWatched(question)) {
      for (const _ of work.turnByLiveHeight(question, () => directHeightMm(capture())));
      return 'done';
    }
    const said = work.answer(question);
    if (question.do !== 'push and pull' || said === 'not now') return said;
    const { startMm, spindle } = question;
    return { lowMm: startMm - shop.truePlayMm(spindle) / 2, highMm: startMm + shop.truePlayMm(spindle) / 2 };
  };
  let tasks = 0;
  for (let task = nextTask(state); task.do !== 'nothing'; task = nextTask(state)) {
    tasks += 1;
    if (arrivalOnly === true && stages.length > 0) break;
    if (untilTurning === true && (task.do === 'turn' || task.do === 'tighten')) break;
    if (tasks > 2000) throw new Error(`seed ${seed}: the job does not end`);
    switch (task.do) {
      case 'read':
        read(task);
        break;
      case 'assess':
        stages.push(noted(task.assessment, state, shop, profile));
        record(assessedEvent(task, state));
        break;
      case 'join fixture':
        record({ type: 'fixture joined', job: 1, fixture: IDENTITY, calibrations: CALIBRATIONS });
        break;
      case 'close':
        record({ type: 'job closed', job: 1, decision: task.decision });
        break;
      default:
        for (const event of eventsFor(task, answer(task), state)) record(event);
    }
  }
  return { state, shop, stages, events };
}

function noted(assessment: Assessment, state: JobState, shop: Shop, profile: MachineProfile): SolvedStage {
  return {
    stage: currentSetting(state)?.stage ?? '',
    setting: state.settings.length,
    assessment,
    trueMm: Object.fromEntries(profile.measures.map((m) => [m.name, shop.trueMeasureMm(m.name)])),
  };
}

export const IDENTITY: Body<'identity'> = {
  protocolMajor: 1,
  protocolMinor: 0,
  tableHash: 0,
  numberBits: 64,
  bootCount: 1,
  firmwareVersion: 'none',
  board: 'direct',
  fixtureId: 'direct',
};

/** Height of the edge over the floor, as the fixture would show it. */
export function directHeightMm(direct: DirectCapture): number {
  return asCaptured(direct, 0, 0).height / 1000;
}

function asCaptured(
  direct: NonNullable<ReturnType<typeof captureDirectly>>,
  capture: number,
  step: number,
): Body<'captured'> {
  const [x, y, z] = direct.gravityG;
  const raw = {
    countsMean: Math.round(direct.distanceMm * 100_000),
    gravityX: Math.round(x * 1e6),
    gravityY: Math.round(y * 1e6),
    gravityZ: Math.round(z * 1e6),
    temperature: Math.round(direct.temperatureC * 100),
  };
  const calibration = CALIBRATIONS[direct.headPosition];
  if (calibration === undefined) throw new Error('no such head position');
  const { distanceUm, heightUm } = captureHeightUm(calibration, raw);
  return {
    ...raw,
    capture,
    step,
    bootCount: 1,
    uptimeMs: 0,
    job: 1,
    purpose: 0,
    trigger: 0,
    headPosition: direct.headPosition,
    calibrationVersion: 1,
    samples: SAMPLES,
    countsSd: Math.round(direct.standardErrorMm * Math.sqrt(SAMPLES) * 100_000),
    drift: 0,
    turned: 0,
    waitedMs: 0,
    distance: distanceUm,
    height: heightUm,
  };
}
