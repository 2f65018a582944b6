/** Everything that the delivery sheet and `records show` print, computed from the job's stored events. */
import { bayLine, type BayLine } from '../bay/known-floor';
import { twistText, wheelTwist } from '../bay/wheel-twist';
import { plateText } from '../bay/target-plate';
import type { Decision, StoredEvent } from '../ledger/events';
import type { MachineProfile } from '../machines/profile';
import { assess } from '../procedure/assess';
import { CAUTIONS } from '../procedure/cautions';
import { replay, standing, type JobState, type Reading } from '../procedure/state';
import { capsOf } from '../procedure/caps';
import { masterErrorMm } from '../procedure/assess';
import { stageView, type StageView } from './stage-view';
import { shimText } from './words';

export interface FixtureLine {
  readonly fixtureId: string;
  readonly firmwareVersion: string;
  /** One for each position of the head: "head low 3, head high 2". */
  readonly calibrationVersion: string;
  readonly openingErrorsMm: readonly number[];
  readonly closingErrorsMm: readonly number[];
}

export interface SheetView {
  readonly job: number;
  readonly profile: MachineProfile;
  readonly serialNumber: string;
  readonly workOrder: string;
  readonly technician: string;
  readonly simulated: boolean;
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
  readonly prepared: readonly { readonly text: string; readonly answer: string }[];
  /** With why it was set aside: by the technician, or because its height does not come out again. */
  readonly readings: readonly Omit<Reading, 'calibration'>[];
  readonly rule: string;
  /** True when the technician has tightened the adjusters; a stage `after tightening` shows what it did. */
  readonly tightened: boolean;
  /** The cautions that every face shows; the last one puts the maker's manual first. */
  readonly cautions: readonly string[];
  /** Hash of the job's last stored event and the log that holds it. */
  readonly head: { readonly writer: string; readonly sequence: number; readonly hash: string };
}

export const DECISION_RULE =
  'Pass when all limits are kept with a joint probability of at least 98 %, bounded below by 1 − Σ(1 − p); fail when any limit is kept with at most 2 %; else can’t tell yet. After JCGM 106.';

/** Undefined when there are no events. Stages whose readings are not complete are left out. */
export function sheetView(events: readonly StoredEvent[]): SheetView | undefined {
  const state = replay(events.map((e) => e.event));
  const first = events[0];
  const last = events.at(-1);
  if (state === undefined || first === undefined || last === undefined) return undefined;
  const read = state.settings.filter((s) => s.assessed.length > 0);
  const stages = read.map((setting) => stageView(state, setting, assess(state, setting)));
  return {
    job: state.job,
    profile: state.profile,
    serialNumber: state.serialNumber,
    workOrder: state.workOrder,
    technician: state.technician,
    simulated: state.simulated,
    openedAt: first.at,
    closedAt: state.closed === undefined ? undefined : last.at,
    decision: state.closed,
    caps: capsOf(state),
    stages,
    bay: bayOf(
      state,
      stages.some((s) => s.surveyDisagrees === true),
    ),
    fixtures: state.fixtures.map((f) => fixtureLine(state, f)),
    prepared: state.profile.preparation.map((item) => ({
      text: item.text,
      answer: answerText(state.prepared[item.id], item.number?.unit),
    })),
    readings: state.readings.map((r) => shownReading(r)),
    rule: DECISION_RULE,
    tightened: state.settings.some((s) => s.tightened),
    cautions: CAUTIONS,
    head: { writer: last.writer, sequence: last.sequence, hash: last.hash },
  };
}

/** The bay with what this machine met there. */
function bayOf({ bay, profile, plate, shim, expiredFloor }: JobState, disagrees: boolean): BayLine {
  const line = bayLine(bay, disagrees);
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

function shownReading({ calibration, ...reading }: Reading): Omit<Reading, 'calibration'> {
  if (calibration !== undefined || reading.setAside !== undefined) return reading;
  return { ...reading, setAside: 'its height cannot be computed again from its raw values' };
}

const HEAD_POSITIONS = ['head low', 'head high'];

function fixtureLine(state: JobState, fixture: JobState['fixtures'][number]): FixtureLine {
  const { fixtureId, firmwareVersion } = fixture.identity;
  const errors = (when: 'opening' | 'closing') =>
    standing(state)
      .filter((r) => r.fixtureId === fixtureId && r.target.kind === 'master' && r.target.when === when)
      .map((r) => masterErrorMm(r));
  return {
    fixtureId,
    firmwareVersion,
    calibrationVersion: fixture.calibrations
      .map((c) => `${HEAD_POSITIONS[c.headPosition] ?? ''} ${c.version}`)
      .join(', '),
    openingErrorsMm: errors('opening'),
    closingErrorsMm: errors('closing'),
  };
}

function answerText(answer: JobState['prepared'][string] | undefined, unit: string | undefined): string {
  if (answer === undefined) return 'open';
  return typeof answer === 'number' ? `${answer} ${unit ?? ''}`.trim() : answer;
}
