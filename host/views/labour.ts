/** How long a job took, by what was being done: from the times in the log, and by the cost model beside it. */
import type { JobEvent, StoredEvent } from '../ledger/events';

/** What a technician is doing up to an event. */
export type Activity = 'preparing' | 'measuring' | 'turning and repairing' | 'closing';

export interface LabourRow {
  readonly activity: Activity;
  /** By the clock of the log; pauses left out. */
  readonly seconds: number;
  /** By the cost model. */
  readonly modelledSeconds: number;
}

export interface Labour {
  readonly rows: readonly LabourRow[];
  readonly seconds: number;
  readonly modelledSeconds: number;
  /** Pauses longer than a quarter of an hour: the job stood open, and nobody is charged for it. */
  readonly pausedSeconds: number;
}

const PAUSE_S = 15 * 60;
const ACTIVITIES: readonly Activity[] = ['preparing', 'measuring', 'turning and repairing', 'closing'];

/** What is done up to an event, and how long that takes by our own reckoning: common practice, no source. */
const STEPS: Partial<Record<JobEvent['type'], readonly [Activity, number]>> = {
  'cautions confirmed': ['preparing', 20],
  'claim stated': ['preparing', 30],
  'carried over': ['preparing', 20],
  prepared: ['preparing', 15],
  'fixture joined': ['preparing', 5],
  'deck seated': ['measuring', 20],
  'hanger felt': ['measuring', 6],
  'set aside': ['measuring', 10],
  upheld: ['measuring', 10],
  'taken up': ['turning and repairing', 45],
  'live turning': ['turning and repairing', 5],
  'turning checked': ['turning and repairing', 20],
  'blade refitted': ['turning and repairing', 240],
  'blade swapped': ['turning and repairing', 300],
  'pushed and pulled': ['measuring', 20],
  'part decided': ['turning and repairing', 60],
  tightened: ['turning and repairing', 90],
  'job closed': ['closing', 10],
};
const FETCH_WRENCH_S = 15;
const ONE_TURN_S = 6;
const REPLACE_S = 900;
const MASTER_S = 12;
const RULER_S = 40;

/** `costs`: seconds of a clamping, a turn of the blade, and a capture. */
export function labourOf(
  events: readonly Pick<StoredEvent, 'at' | 'event'>[],
  costs: { readonly clampS: number; readonly turnS: number; readonly captureS: number },
): Labour {
  const seconds = new Map<Activity, number>();
  const modelled = new Map<Activity, number>();
  let pausedSeconds = 0;
  let placement = -1;
  events.forEach(({ at, event }, i) => {
    const [activity, takes] = stepOf(event, placement, costs);
    if (event.type === 'step asked' && event.target.kind !== 'master') placement = event.target.placement;
    modelled.set(activity, (modelled.get(activity) ?? 0) + takes);
    const before = events[i - 1];
    const passed = before === undefined ? 0 : Math.max(0, (Date.parse(at) - Date.parse(before.at)) / 1000);
    if (passed > PAUSE_S) pausedSeconds += passed;
    else seconds.set(activity, (seconds.get(activity) ?? 0) + passed);
  });
  const rows = ACTIVITIES.map((activity) => ({
    activity,
    seconds: seconds.get(activity) ?? 0,
    modelledSeconds: modelled.get(activity) ?? 0,
  }));
  const sum = (key: 'seconds' | 'modelledSeconds') => rows.reduce((total, row) => total + row[key], 0);
  return { rows, seconds: sum('seconds'), modelledSeconds: sum('modelledSeconds'), pausedSeconds };
}

function stepOf(
  event: JobEvent,
  placement: number,
  { clampS, turnS, captureS }: { clampS: number; turnS: number; captureS: number },
): readonly [Activity, number] {
  switch (event.type) {
    case 'step asked': {
      const { target } = event;
      if (target.kind === 'master') return [target.when === 'opening' ? 'preparing' : 'closing', MASTER_S];
      return ['measuring', captureS + (target.placement === placement ? turnS : clampS)];
    }
    case 'ruler read':
      return ['measuring', RULER_S];
    case 'turned':
      return ['turning and repairing', FETCH_WRENCH_S + ONE_TURN_S * Math.abs(event.turns)];
    case 'part decided':
      return ['turning and repairing', event.answer === 'replaced' ? REPLACE_S : 5];
    case 'captured':
      return ['measuring', 0];
    default:
      return STEPS[event.type] ?? ['preparing', 0];
  }
}
