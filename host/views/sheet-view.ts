/** Everything that the delivery sheet and `records show` print, computed from the job's stored events. */
import { bayLine, type BayLine } from '../bay/known-floor';
import { STRAIGHTEDGE_ITEM, straightedgeText } from '../bay/straightedge';
import { twistText, wheelTwist } from '../bay/wheel-twist';
import { plateText } from '../bay/target-plate';
import type { ClaimField, Decision, RecordEvent, StepTarget, StoredEvent, Use } from '../ledger/events';
import type { MachineProfile } from '../machines/profile';
import { assess } from '../procedure/assess';
import { CAUTIONS } from '../procedure/cautions';
import { isCarried, itemsOf } from '../procedure/preparation';
import { onMaster, replay, type JobState, type Reading, type Setting } from '../procedure/state';
import { capsOf } from '../procedure/caps';
import { costsOf } from '../procedure/reading-time';
import { masterErrorMm } from '../procedure/assess';
import { courseLines, partLines } from './course';
import { fixtureTrustLines, overdueLines, setOnLine } from './gauging-words';
import { labourOf, type Labour } from './labour';
import { measureRows, stageView, type MeasureRow, type StageView } from './stage-view';
import { answerText } from './task-text';
import { shimText } from './words';

export interface FixtureLine {
  readonly fixtureId: string;
  readonly firmwareVersion: string;
  /** One for each position of the head: "head low 3, head high 2". */
  readonly calibrationVersion: string;
  readonly openingErrorsMm: readonly number[];
  readonly closingErrorsMm: readonly number[];
  /** What stands behind its readings, as the log knew it when the job was opened. */
  readonly trust?: readonly string[];
}

/** A reading of the job, whatever it was taken with. */
export interface ReadingRow {
  readonly by: 'fixture' | 'ruler';
  readonly fixtureId: string;
  readonly number: number;
  readonly step: number;
  readonly target: StepTarget;
  readonly heightMm: number;
  readonly upheld: boolean;
  /** Why it does not count: the technician's reason, or that its height does not come out again. */
  readonly setAside?: string;
}

/** What a set of readings would have said, had nothing been set aside. */
export interface WithAll {
  readonly stage: StageView['stage'];
  readonly decision: Decision;
  readonly measures: readonly MeasureRow[];
}

export interface SheetView {
  readonly job: number;
  /** Another writer's job, imported: whose, and the fingerprint of the key that sealed it. Every output says so. */
  readonly foreign?: { readonly writer: string; readonly fingerprint: string };
  readonly use: Use;
  readonly profile: MachineProfile;
  readonly serialNumber: string;
  readonly workOrder: string;
  readonly technician: string;
  /** All whose hands the job was in; of the last one the role, where it is known. */
  readonly technicians: readonly string[];
  readonly simulated: boolean;
  /** Tips were read with a ruler: every output says so. */
  readonly byRuler: boolean;
  readonly claim: readonly { readonly field: ClaimField; readonly text: string }[];
  readonly openedAt: string;
  readonly closedAt: string | undefined;
  readonly decision: Decision | undefined;
  /** What kept a pass from being called one. */
  readonly caps: readonly string[];
  /** Oldest first; the first is as the machine came, the last is how it leaves. */
  readonly stages: readonly StageView[];
  /** Which bay it stood on and what was known of its floor. */
  readonly bay?: BayLine;
  readonly fixtures: readonly FixtureLine[];
  /** `carried`: the answer was taken over from the machine before in a batch. */
  readonly prepared: readonly { readonly text: string; readonly answer: string; readonly carried?: true }[];
  /** Parts that were tested or replaced. */
  readonly parts: readonly string[];
  /** What departed from the usual course, with its time. */
  readonly course: readonly string[];
  readonly labour: Labour;
  /** For each stage of which readings were set aside. */
  readonly withAll: readonly WithAll[];
  readonly readings: readonly ReadingRow[];
  readonly rule: string;
  /** True when the technician has tightened the adjusters; a stage `after tightening` shows what it did. */
  readonly tightened: boolean;
  /** The cautions that every face shows; the last one puts the maker's manual first. */
  readonly cautions: readonly string[];
  /** Hash of the job's last stored event and the log that holds it. */
  readonly head: { readonly writer: string; readonly sequence: number; readonly hash: string };
}

export const DECISION_RULE =
  'Pass when all limits are kept with a joint probability of at least 98 %, bounded below by 1 − the sum of (1 − p), each p by Student’s t where the floor is not surveyed; fail when any limit is kept with at most 2 %; else can’t tell yet. After JCGM 106.';

/** Written at any time, also after the job: no part of the work. */
const OF_THE_RECORD: readonly string[] = [
  'solver known',
  'fixture restarted',
  'customer stated',
  'photo attached',
  'deleted',
] satisfies RecordEvent['type'][];

/** Undefined when there are no events. Stages whose readings are not complete are left out. */
export function sheetView(events: readonly StoredEvent[]): SheetView | undefined {
  const state = replay(events.map((e) => e.event));
  return state === undefined ? undefined : sheetOf(state, events);
}

/** The same where the events have been replayed. */
export function sheetOf(state: JobState, events: readonly StoredEvent[]): SheetView | undefined {
  const first = events[0];
  const last = events.at(-1);
  if (first === undefined || last === undefined) return undefined;
  const worked = events.filter(({ event }) => !OF_THE_RECORD.includes(event.type));
  const read = state.settings.filter((s) => s.assessed.length > 0);
  const stages = read.map((setting) => stageView(state, setting, assess(state, setting)));
  return {
    job: state.job,
    use: state.use,
    profile: state.profile,
    serialNumber: state.serialNumber,
    workOrder: state.workOrder,
    technician: state.technician,
    technicians: state.technicians.map((name) =>
      name === state.technician && state.role !== undefined ? `${name} (${state.role})` : name,
    ),
    simulated: state.simulated,
    byRuler: state.readings.some((r) => r.by === 'ruler'),
    claim: CLAIM_FIELDS.flatMap((field) => {
      const text = state.claim[field];
      return text === undefined ? [] : [{ field, text }];
    }),
    openedAt: first.at,
    closedAt: state.closed === undefined ? undefined : worked.at(-1)?.at,
    decision: state.closed,
    caps: capsOf(state),
    stages,
    bay: bayOf(
      state,
      stages.some((s) => s.surveyDisagrees === true),
    ),
    fixtures: state.fixtures.map((f) => fixtureLine(state, f)),
    prepared: itemsOf(state).map((item) => ({
      text: item.text,
      answer: answerText(state.prepared[item.id], item),
      ...(isCarried(state, item.id) ? { carried: true as const } : {}),
    })),
    parts: partLines(state),
    course: courseLines(events),
    labour: labourOf(worked, costsOf(state)),
    withAll: read.flatMap((setting) => withAll(state, setting)),
    readings: state.readings.map((r) => readingRow(r)),
    rule: DECISION_RULE,
    tightened: state.settings.some((s) => s.tightened),
    cautions: CAUTIONS,
    head: { writer: last.writer, sequence: last.sequence, hash: last.hash },
  };
}

/** The bay with what this machine met there. */
function bayOf({ bay, profile, plate, shim, expiredFloor, prepared }: JobState, disagrees: boolean): BayLine {
  const range = prepared[STRAIGHTEDGE_ITEM.id];
  const line = bayLine(bay, disagrees, typeof range === 'number' ? straightedgeText(range) : undefined);
  const twist = bay === undefined ? undefined : wheelTwist(bay, profile);
  const also = [
    ...(expiredFloor === 'put aside'
      ? ['Put aside for this job by the technician: judged as a floor not surveyed.']
      : []),
    ...(twist === undefined ? [] : [twistText(twist)]),
    ...(shim === undefined || shim === 'none' ? [] : [`Read on a shim of ${shimText(shim)}.`]),
    ...(plate === undefined ? [] : [`Read with a ${plateText(plate)}.`]),
  ];
  return { ...line, sentences: [...line.sentences, ...also] };
}

const CLAIM_FIELDS = ['complaint', 'hour meter', 'delivered on', 'cause', 'correction', 'parts'] as const;

function readingRow(reading: Reading): ReadingRow {
  const { by, fixtureId, number, step, target, upheld } = reading;
  const setAside =
    reading.setAside ??
    (by === 'fixture' && reading.calibration === undefined
      ? 'its height cannot be computed again from its raw values'
      : undefined);
  const heightMm = by === 'ruler' ? reading.heightMm : reading.capture.height / 1000;
  return {
    by,
    fixtureId,
    number,
    step,
    target,
    heightMm,
    upheld,
    ...(setAside === undefined ? {} : { setAside }),
  };
}

/** Undefined for a reading that counts. */
export function whyNotCounted(reading: Reading): string | undefined {
  const incomputable = reading.by === 'fixture' && reading.calibration === undefined;
  return (
    reading.setAside ?? (incomputable ? 'its height cannot be computed again from its raw values' : undefined)
  );
}

/** One setting solved once more with the readings of it that were set aside. */
function withAll(state: JobState, setting: Setting): WithAll[] {
  const isOfIt = ({ target }: Reading) => target.kind === 'tip' && setting.seatings.includes(target.seating);
  if (!state.readings.some((r) => isOfIt(r) && r.setAside !== undefined)) return [];
  const readings = state.readings.map((r): Reading => {
    const { setAside: _, ...counted } = r;
    return isOfIt(r) ? counted : r;
  });
  const { solution, result } = assess({ ...state, readings }, setting);
  return [
    {
      stage: setting.stage,
      decision: result.decision,
      measures: measureRows(state.profile, solution, result),
    },
  ];
}

const HEAD_POSITIONS = ['head low', 'head high'];

function fixtureLine(state: JobState, fixture: JobState['fixtures'][number]): FixtureLine {
  const { fixtureId, firmwareVersion } = fixture.identity;
  const errors = (when: 'opening' | 'closing') =>
    onMaster(state)
      .filter((r) => r.fixtureId === fixtureId && r.target.when === when)
      .map((r) => masterErrorMm(r, state.instruments));
  return {
    fixtureId,
    firmwareVersion,
    calibrationVersion: fixture.calibrations
      .map((c) => `${HEAD_POSITIONS[c.headPosition] ?? ''} ${c.version}`)
      .join(', '),
    openingErrorsMm: errors('opening'),
    closingErrorsMm: errors('closing'),
    trust: [
      setOnLine(fixture.calibrations),
      ...fixtureTrustLines(state.instruments, fixtureId),
      ...overdueLines(state.instruments),
    ],
  };
}
