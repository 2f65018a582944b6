/**
 * Checks a chain event by event, in the order written: hashes, links, signatures, changes of the key, numbers, and steps
 * of the clock. It knows nothing of files: a whole log and the events of one exported job go through the same checks.
 */
import { CHAIN_START, chainHash, NO_JOB, type RawEvent } from './chain';
import { changeText, signatureHolds } from './keys';

export interface ChainFault {
  /** Number of the event where it shows. */
  readonly sequence: number;
  readonly what: string;
}

/** A key of the writer, and which event made it known. */
export interface KnownKey {
  readonly publicKey: string;
  readonly since: number;
  /** Whether the key before it signed the change; the first key of a chain has none before it. */
  readonly vouched: boolean;
}

/** By how much a wall clock may go back without an event `clock stepped`: less than this is an ordinary correction. */
export const CLOCK_TOLERANCE_MS = 2000;

export interface ChainCheckOptions {
  /** The events are those of one job and of the keys: what is between them is not here, so links lead to absent events. */
  readonly partial?: boolean;
}

export class ChainCheck {
  readonly keys: KnownKey[] = [];
  private before: RawEvent | undefined;
  private readonly lastOfJob = new Map<number, string>();

  constructor(
    private readonly writer: string,
    private readonly options: ChainCheckOptions = {},
  ) {}

  /** What is wrong with the next event; the first one says it best. */
  next(raw: RawEvent): ChainFault[] {
    const { sequence } = raw;
    const faults: string[] = [];
    const fault = (what: string) => faults.push(`event ${sequence} ${what}`);
    if (raw.writer !== this.writer) fault(`is of writer '${raw.writer}'`);
    const event = parsed(raw.eventJson);
    if (event === undefined) fault('is no JSON object');
    else {
      // A missing event is named by its own number; what follows it is linked wrong for that reason.
      const missing = this.missingBefore(raw, event);
      if (missing !== undefined) faults.push(missing);
      if (chainHash(raw) !== raw.hash) fault('does not match its hash');
      else {
        this.checkLinks(raw, event, fault);
        this.checkSignature(raw, event, fault);
        this.checkClock(raw, event, fault);
      }
    }
    this.before = raw;
    return faults.map((what) => ({ sequence, what }));
  }

  private missingBefore({ sequence }: RawEvent, event: Loose): string | undefined {
    const last = this.before?.sequence ?? 0;
    if (sequence <= last) return `event ${sequence} stands after event ${last}`;
    if (this.options.partial === true || sequence === last + 1) return undefined;
    const isRestored =
      (event['type'] === 'log restored' && event['from'] === last) ||
      (event['type'] === 'key changed' && event['restoredFrom'] === last);
    return isRestored ? undefined : `event ${last + 1} is missing`;
  }

  private checkLinks(raw: RawEvent, event: Loose, fault: (what: string) => void): void {
    const { sequence, previous, jobPrevious, hash } = raw;
    const mayBeLinked = this.options.partial !== true || this.before?.sequence === sequence - 1;
    if (mayBeLinked && previous !== (this.before?.hash ?? CHAIN_START))
      fault('does not follow from the event before it');
    if (sequence === 1 && previous !== CHAIN_START) fault('is the first and follows from another');
    const job = event['job'];
    if (job === undefined) {
      if (jobPrevious !== NO_JOB) fault('belongs to no job and names an event of one');
    } else if (typeof job !== 'number') fault('has a job that is no number');
    else {
      if (jobPrevious !== (this.lastOfJob.get(job) ?? CHAIN_START))
        fault(`does not follow from the event of job ${job} before it`);
      this.lastOfJob.set(job, hash);
    }
  }

  private checkSignature(raw: RawEvent, event: Loose, fault: (what: string) => void): void {
    const { sequence, hash, signature } = raw;
    const { type, publicKey } = event;
    const current = this.keys.at(-1)?.publicKey;
    const signedBy = (key: string | undefined) =>
      key !== undefined && signatureHolds(key, hash, signature) ? undefined : fault('has a wrong signature');
    if (type === 'key made') {
      if (typeof publicKey !== 'string') return fault('names no key');
      if (sequence !== 1) return fault('makes a key in the middle of a chain');
      signedBy(publicKey);
      this.keys.push({ publicKey, since: sequence, vouched: true });
    } else if (type === 'key changed') {
      const { before, proof, lost } = event;
      if (typeof publicKey !== 'string' || typeof proof !== 'string' || typeof before !== 'string')
        return fault('names no key');
      if (before !== current) fault('changes another key than the one in use');
      if (!signatureHolds(publicKey, changeText(this.writer, before, publicKey), proof))
        fault('names a key whose holder did not sign the change');
      signedBy(lost === true ? publicKey : current);
      this.keys.push({ publicKey, since: sequence, vouched: lost !== true });
    } else signedBy(current);
  }

  private checkClock({ at, sequence }: RawEvent, event: Loose, fault: (what: string) => void): void {
    const backMs = this.before === undefined ? 0 : Date.parse(this.before.at) - Date.parse(at);
    if (Number.isNaN(backMs)) return fault('has no time');
    if (backMs <= CLOCK_TOLERANCE_MS || event['type'] === 'clock stepped') return;
    // Between the events of one job the log may hold the one that says so.
    if (this.options.partial === true && this.before?.sequence !== sequence - 1) return;
    fault(`is ${(backMs / 1000).toFixed(0)} s earlier than the one before it, and no event says why`);
  }
}

type Loose = Readonly<Record<string, unknown>>;

function parsed(text: string): Loose | undefined {
  try {
    const value: unknown = JSON.parse(text);
    return typeof value === 'object' && value !== null && !Array.isArray(value)
      ? (value as Loose)
      : undefined;
  } catch {
    return undefined;
  }
}
