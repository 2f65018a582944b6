/**
 * A job as it stands, computed from its events and from nothing else. Replaying the same events gives the same state.
 */
import { captureHeightUm } from '../../protocol/solver';
import type { Body } from '../../protocol/wire/messages';
import type { JobEvent, Stage } from '../ledger/events';
import { correctedTarget, correctedTurns } from './corrections';
import {
  RULER,
  type Decided,
  type FixtureReading,
  type JobState,
  type MasterTarget,
  type Play,
  type Reading,
  type RulerReading,
  type Setting,
  type SoundFixtureReading,
  type SoundReading,
} from './job-state';

export * from './job-state';

/** Replays the events of one job. Undefined when there are none, or only captures of a session of that number. */
export function replay(events: Iterable<JobEvent>): JobState | undefined {
  let state: JobState | undefined;
  for (const event of events)
    if (state !== undefined || event.type === 'job opened') state = apply(state, event);
  return state;
}

/** The state after one event more. The event has been admitted (admit.ts) or comes from a log. */
export function apply(state: JobState | undefined, event: JobEvent): JobState {
  if (event.type === 'job opened') return opened(event);
  if (state === undefined) throw new Error('a job begins with being opened');
  switch (event.type) {
    case 'bay chosen':
      return { ...state, bay: { bay: event.bay, on: event.on, turnRounds: event.turnRounds } };
    case 'expired floor':
      return { ...state, expiredFloor: event.answer };
    case 'wheels shimmed':
      return { ...state, shim: event.shim };
    case 'plates laid':
      return { ...state, plate: event.plate };
    case 'instruments known':
      return { ...state, instruments: event.known };
    case 'cautions confirmed':
      return { ...state, cautionsConfirmed: true };
    case 'carried over':
      return carriedOver(state, event.answer);
    case 'claim stated':
      return { ...state, claim: { ...state.claim, [event.field]: event.text } };
    case 'prepared':
      return { ...state, prepared: { ...state.prepared, [event.item]: event.answer } };
    case 'fixture joined':
      return joined(state, event.fixture, event.calibrations);
    case 'fixture lost':
      return { ...state, lost: [...state.lost.filter((id) => id !== event.fixtureId), event.fixtureId] };
    case 'fixture accounted for':
      return {
        ...state,
        accountedFor: { ...state.accountedFor, [event.fixtureId]: { by: event.by, reason: event.reason } },
      };
    case 'step asked':
      return stepAsked(state, event);
    case 'clamped anew':
      return clampedAnew(state, event.step);
    case 'ruler taken up':
      return { ...state, ruler: { expandedMm: event.expandedMm } };
    case 'ruler read':
      return rulerRead(state, event.step, event.heightMm);
    case 'captured':
      return captured(state, event.fixtureId, event.capture);
    case 'set aside':
      return withReading(state, event, (r) => ({ ...r, setAside: event.reason }));
    case 'upheld':
      return withReading(state, event, (r) => ({ ...r, upheld: true }));
    case 'restored':
      return withReading(state, event, ({ setAside: _, ...r }) => ({ ...r, upheld: true }));
    case 'tip corrected':
      return withReading(state, event, (r) => ({ ...r, target: correctedTarget(r.target, event) }));
    case 'deck seated':
      return {
        ...state,
        lastSeating: event.seating,
        settings: seated(state, event.seating),
        toReadAgain: false,
      };
    case 'hanger felt':
      return withSetting(state, (s) => ({ ...s, felt: { ...s.felt, [event.hanger]: event.state } }));
    case 'taken up':
      return withSetting(state, (s) => ({ ...s, takenUp: [...s.takenUp, event.hanger] }));
    case 'assessed':
      return withSetting(state, (s) => {
        const { decision, jointProbability } = event;
        const now = { decision, jointProbability, afterStep: state.lastStep, seatings: s.seatings.length };
        return { ...s, assessed: [...s.assessed, now] };
      });
    case 'turned':
      return withSetting(state, (s) => ({
        ...s,
        turned: [...s.turned, { adjuster: event.adjuster, turns: event.turns, ...onlyLive(event) }],
      }));
    case 'turn corrected':
      return { ...state, settings: correctedTurns(state.settings, event) };
    case 'live turning':
      return { ...state, liveTurning: event.on };
    case 'blade refitted':
      return withSetting(state, (s) => ({
        ...s,
        refits: [
          ...(s.refits ?? []),
          { spindle: event.spindle, answer: event.answer, afterStep: state.lastStep },
        ],
      }));
    case 'pushed and pulled':
      return { ...state, plays: [...state.plays, playOf(event)] };
    case 'blade swapped':
      return withDecided(state, {
        spindle: event.spindle,
        part: 'good blade on trial',
        answer: event.answer,
      });
    case 'part decided':
      return withDecided(state, { spindle: event.spindle, part: event.part, answer: event.answer });
    case 'levelling offered':
      return { ...state, levelling: event.answer };
    case 'turning checked':
      return withSetting(state, (s) => ({ ...s, turningChecked: event.found }));
    case 'tightened':
      return withSetting(state, (s) => ({ ...s, tightened: true }));
    case 'handed over':
      return handedOver(state, event);
    case 'given up':
      return { ...state, givenUp: event.reason };
    case 'job closed':
      return { ...state, closed: event.decision };
    case 'job reopened': {
      const { closed: _, givenUp: __, levelling: ___, ...open } = state;
      const toReadAgain = event.toReadAgain === true;
      return {
        ...open,
        cautionsConfirmed: open.cautionsConfirmed && !toReadAgain,
        toReadAgain,
        reopened: [...state.reopened, { by: event.by, reason: event.reason }],
      };
    }
    case 'solver known':
    case 'fixture restarted':
    case 'customer stated':
    case 'photo attached':
    case 'deleted':
      return state;
  }
}

/** The setting that is being read now. */
export function currentSetting(state: JobState): Setting | undefined {
  return state.settings.at(-1);
}

/** Readings that count: of this job, sound and not set aside. */
export function standing(state: Pick<JobState, 'readings'>): SoundReading[] {
  return state.readings.filter(
    (r): r is SoundReading => r.setAside === undefined && (r.by === 'ruler' || r.calibration !== undefined),
  );
}

/** Readings of a fixture on its height master that count. */
export function onMaster(
  state: Pick<JobState, 'readings'>,
): (SoundFixtureReading & { target: MasterTarget })[] {
  return standing(state).filter(
    (r): r is SoundFixtureReading & { target: MasterTarget } =>
      r.by === 'fixture' && r.target.kind === 'master',
  );
}

function opened(event: Extract<JobEvent, { type: 'job opened' }>): JobState {
  return {
    job: event.job,
    use: event.use,
    profile: event.profile,
    serialNumber: event.serialNumber,
    workOrder: event.workOrder,
    technician: event.technician,
    technicians: [event.technician],
    ...(event.role === undefined ? {} : { role: event.role }),
    simulated: event.simulated,
    ...(event.checklist === undefined ? {} : { checklist: event.checklist }),
    ...(event.casterShimMm === undefined ? {} : { casterShimMm: event.casterShimMm }),
    ...(event.carried === undefined ? {} : { carried: event.carried }),
    ...(event.sequence === undefined ? {} : { sequence: event.sequence }),
    ...(event.readingCosts === undefined ? {} : { readingCosts: event.readingCosts }),
    ...(event.learned === undefined ? {} : { learned: event.learned }),
    cautionsConfirmed: false,
    prepared: {},
    claim: {},
    fixtures: [],
    lost: [],
    accountedFor: {},
    steps: {},
    lastStep: 0,
    lastPlacement: 0,
    lastSeating: 0,
    readings: [],
    foreign: [],
    settings: [],
    plays: [],
    liveTurning: false,
    reopened: [],
    toReadAgain: false,
  };
}

/** Answers of the machine before hold for the items that this machine has, too. */
function carriedOver(state: JobState, answer: 'the same' | 'one by one'): JobState {
  const { carried } = state;
  if (carried === undefined) return state;
  const prepared = answer === 'the same' ? { ...carried.answers, ...state.prepared } : state.prepared;
  return { ...state, carried: { ...carried, answer }, prepared };
}

function stepAsked(state: JobState, event: Extract<JobEvent, { type: 'step asked' }>): JobState {
  const { step, target, fixtureId } = event;
  return {
    ...state,
    steps: { ...state.steps, [step]: { target, ...(fixtureId === undefined ? {} : { fixtureId }) } },
    lastStep: step,
    lastPlacement: target.kind === 'master' ? state.lastPlacement : target.placement,
  };
}

function clampedAnew(state: JobState, step: number): JobState {
  const asked = state.steps[step];
  if (asked === undefined) return state;
  return { ...state, steps: { ...state.steps, [step]: { ...asked, clampedAnew: true } } };
}

function rulerRead(state: JobState, step: number, heightMm: number): JobState {
  const target = state.steps[step]?.target;
  if (target === undefined || state.ruler === undefined) return state;
  const number = 1 + state.readings.filter((r) => r.by === 'ruler').length;
  const { expandedMm } = state.ruler;
  const reading: RulerReading = {
    by: 'ruler',
    fixtureId: RULER,
    number,
    step,
    target,
    heightMm,
    expandedMm,
    upheld: false,
  };
  return { ...state, readings: [...state.readings, reading] };
}

function onlyLive({ live }: { live?: true }): { live?: true } {
  return live === undefined ? {} : { live };
}

function playOf({ spindle, lowMm, highMm }: Extract<JobEvent, { type: 'pushed and pulled' }>): Play {
  return lowMm === undefined || highMm === undefined ? { spindle } : { spindle, heightsMm: [lowMm, highMm] };
}

function withDecided(state: JobState, decided: Decided): JobState {
  return withSetting(state, (s) => ({ ...s, decided: [...s.decided, decided] }));
}

function handedOver(
  { role: _, ...state }: JobState,
  { to, role }: Extract<JobEvent, { type: 'handed over' }>,
): JobState {
  const technicians = state.technicians.includes(to) ? state.technicians : [...state.technicians, to];
  return { ...state, technician: to, technicians, ...(role === undefined ? {} : { role }) };
}

function joined(
  state: JobState,
  identity: Body<'identity'>,
  calibrations: readonly Body<'calibration'>[],
): JobState {
  const { fixtureId } = identity;
  const before = state.fixtures.find((f) => f.identity.fixtureId === fixtureId)?.calibrations ?? [];
  const kept = before.filter(
    (b) => !calibrations.some((c) => c.headPosition === b.headPosition && c.version === b.version),
  );
  const fixtures = [
    ...state.fixtures.filter((f) => f.identity.fixtureId !== fixtureId),
    { identity, calibrations: [...kept, ...calibrations] },
  ];
  const waiting = (r: Reading): r is FixtureReading =>
    r.by === 'fixture' && r.calibration === undefined && r.fixtureId === fixtureId;
  const { [fixtureId]: _, ...accountedFor } = state.accountedFor;
  return {
    ...state,
    fixtures,
    accountedFor,
    lost: state.lost.filter((id) => id !== fixtureId),
    // The same array as long as nothing in it changes: what is computed from it is kept by it.
    readings: state.readings.some(waiting)
      ? state.readings.map((r) =>
          waiting(r) ? { ...r, ...calibrationOf(fixtures, fixtureId, r.capture) } : r,
        )
      : state.readings,
  };
}

function calibrationOf(
  fixtures: JobState['fixtures'],
  fixtureId: string,
  capture: Body<'captured'>,
): Pick<FixtureReading, 'calibration'> {
  const calibration = fixtures
    .find((f) => f.identity.fixtureId === fixtureId)
    ?.calibrations.find(
      (c) => c.headPosition === capture.headPosition && c.version === capture.calibrationVersion,
    );
  if (calibration === undefined) return {};
  const again = captureHeightUm(calibration, capture);
  return again.distanceUm === capture.distance && again.heightUm === capture.height ? { calibration } : {};
}

function captured(state: JobState, fixtureId: string, capture: Body<'captured'>): JobState {
  const target = state.steps[capture.step]?.target;
  if (capture.job !== state.job || target === undefined)
    return { ...state, foreign: [...state.foreign, capture] };
  return {
    ...state,
    readings: [
      ...state.readings,
      {
        by: 'fixture',
        step: capture.step,
        target,
        fixtureId,
        number: capture.capture,
        capture,
        ...calibrationOf(state.fixtures, fixtureId, capture),
        upheld: false,
      },
    ],
  };
}

function withReading(
  state: JobState,
  which: { fixtureId: string; capture: number },
  change: (reading: Reading) => Reading,
): JobState {
  return {
    ...state,
    readings: state.readings.map((r) =>
      r.fixtureId === which.fixtureId && r.number === which.capture ? change(r) : r,
    ),
  };
}

function withSetting(state: JobState, change: (setting: Setting) => Setting): JobState {
  const last = state.settings.at(-1);
  if (last === undefined) throw new Error('the deck has not been seated yet');
  return { ...state, settings: [...state.settings.slice(0, -1), change(last)] };
}

function seated(state: JobState, seating: number): Setting[] {
  const last = state.settings.at(-1);
  const begins = (stage: Stage): Setting => ({
    stage,
    seatings: [seating],
    felt: {},
    takenUp: [],
    assessed: [],
    turned: [],
    tightened: false,
    decided: [],
    goodBlades: goodBladesAfter(last),
  });
  if (last === undefined) return [begins('arrival')];
  if (state.toReadAgain) return [...state.settings, begins('read again')];
  if (isRepaired(last)) return [...state.settings, begins('after repair')];
  if (last.tightened) return [...state.settings, begins('after tightening')];
  if (last.turned.length > 0) return [...state.settings, begins('after turning')];
  return [...state.settings.slice(0, -1), { ...last, seatings: [...last.seatings, seating] }];
}

/** A part is another one now than when this setting was read. */
export function isRepaired(setting: Setting): boolean {
  return setting.decided.some((d) => d.answer !== 'not now');
}

/** A blade on trial stays on and is known to be good; any other blade that was put on is not known to be. */
function goodBladesAfter(last: Setting | undefined): string[] {
  const good = new Set(last?.goodBlades ?? []);
  for (const { spindle, part, answer } of last?.decided ?? []) {
    if (answer === 'swapped') good.add(spindle);
    else if (answer === 'replaced' && part === 'blade') good.delete(spindle);
  }
  return [...good];
}
