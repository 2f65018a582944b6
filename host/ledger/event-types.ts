/** The types of event that this version knows. A new one raises `LAYOUT_VERSION`: an older tool could not replay the job. */
import type { GaugingEvent, JobEvent, LogEvent, RecordEvent, ShopEvent } from './events';

/** Whether a value read back is an event of a job, by its type and job number; its hash vouches for the rest. */
export function isJobEvent(value: unknown): value is JobEvent {
  if (typeof value !== 'object' || value === null) return false;
  const { type, job } = value as Partial<Record<'type' | 'job', unknown>>;
  return typeof type === 'string' && Object.hasOwn(KNOWN, type) && Number.isInteger(job);
}

/** Whether what happened between jobs happened to instruments. */
export function isGaugingEvent(event: ShopEvent): event is GaugingEvent {
  return Object.hasOwn(KNOWN_OF_GAUGING, event.type);
}

/** The same for what happens between jobs. */
export function isShopEvent(value: unknown): value is ShopEvent {
  if (typeof value !== 'object' || value === null) return false;
  const { type } = value as { type?: unknown };
  return typeof type === 'string' && Object.hasOwn(KNOWN_OF_SHOP, type);
}

/** Whether an event concerns a job's record and not its machine. */
export function isRecordEvent(event: JobEvent): event is RecordEvent {
  return Object.hasOwn(KNOWN_OF_RECORD, event.type);
}

export function isLogEvent(value: unknown): value is LogEvent {
  return isJobEvent(value) || isShopEvent(value);
}

const KNOWN_OF_GAUGING: Record<GaugingEvent['type'], true> = {
  'equipment registered': true,
  'equipment withdrawn': true,
  'session opened': true,
  'step left out': true,
  'session closed': true,
  'study accepted': true,
  'calibration written': true,
};

const KNOWN_OF_SHOP: Record<ShopEvent['type'], true> = {
  ...KNOWN_OF_GAUGING,
  'bay surveyed': true,
  'bay turned round': true,
  'casters swung': true,
  'technician registered': true,
  'key made': true,
  'key changed': true,
  'clock stepped': true,
  'log restored': true,
  'heads seen': true,
  'job imported': true,
  'captures elsewhere': true,
};

const KNOWN_OF_RECORD: Record<RecordEvent['type'], true> = {
  'solver known': true,
  'fixture restarted': true,
  'customer stated': true,
  'photo attached': true,
  deleted: true,
};

/** Complete by its type: an event that is not listed here does not compile. */
const KNOWN: Record<JobEvent['type'], true> = {
  'job opened': true,
  'bay chosen': true,
  'instruments known': true,
  'expired floor': true,
  'wheels shimmed': true,
  'plates laid': true,
  'cautions confirmed': true,
  'carried over': true,
  prepared: true,
  'claim stated': true,
  'fixture joined': true,
  'fixture lost': true,
  'fixture accounted for': true,
  'step asked': true,
  'clamped anew': true,
  'ruler taken up': true,
  'ruler read': true,
  captured: true,
  'set aside': true,
  upheld: true,
  restored: true,
  'tip corrected': true,
  'blade refitted': true,
  'deck seated': true,
  'hanger felt': true,
  'taken up': true,
  assessed: true,
  turned: true,
  'turn corrected': true,
  'live turning': true,
  'turning checked': true,
  'pushed and pulled': true,
  'blade swapped': true,
  'part decided': true,
  'levelling offered': true,
  tightened: true,
  'handed over': true,
  'given up': true,
  'job closed': true,
  'job reopened': true,
  ...KNOWN_OF_RECORD,
};
