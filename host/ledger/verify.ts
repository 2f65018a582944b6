/**
 * Verification of a log and of an exported job: what is wrong, what cannot be told, and what was found in order. Faults of
 * the data are findings, not errors.
 */
import { NumberedError } from '../errors/errors';
import { apartIn, saltedHash } from './apart';
import { sha256, type RawEvent } from './chain';
import { ChainCheck, type KnownKey } from './chain-check';
import type { JobEvent, LogEvent, SeenHead } from './events';
import { eventsOf, parseExport, sealText, type SealedExport } from './exported-job';
import { FixtureRows } from './fixture-rows';
import { fingerprintOf, signatureHolds } from './keys';
import type { LedgerReader } from './ledger';
import { photoPath, readPhoto } from './photos';
import type { Program } from './program';
import { rejudgeJob } from './rejudge-job';

export interface Verification {
  readonly what: 'log' | 'exported job';
  readonly writer: string;
  /** The job, where it is one. */
  readonly job?: number;
  readonly events: number;
  /** Where the chain ends; of an exported job, where it ended when the job was exported. */
  readonly head: { readonly sequence: number; readonly hash: string };
  readonly keys: readonly (KnownKey & { readonly fingerprint: string })[];
  /** What was changed, is missing or does not fit: the record is not as it was signed. */
  readonly faults: readonly string[];
  /** What this file alone cannot tell. */
  readonly open: readonly string[];
  readonly notes: readonly string[];
  readonly results: { readonly toTheBit: number; readonly toRounding: number };
  readonly captures: { readonly fixtures: number; readonly captures: number };
}

export interface VerifyOptions {
  /** Solvers that may be run: those that this log or this installation vouches for. `undefined` for the others. */
  readonly programOf: (sha256: string) => Program | undefined;
  /** Whether results are computed again at all. */
  readonly rejudge: boolean;
  /** Only these jobs' results; left out: all. */
  readonly jobs?: readonly number[];
  /** A head that must be in the chain, as a printed sheet carries it: sequence, and the hash or the beginning of it. */
  readonly head?: { readonly sequence: number; readonly hash: string };
  /** Heads of this writer that other logs have seen (`heads seen`). */
  readonly seen?: readonly SeenHead[];
  /** Fingerprint that the shop gave by another way. */
  readonly fingerprint?: string;
  /** Called with the number of results computed again so far. */
  readonly progress?: (jobs: number) => void;
}

const FAULTS_MAX = 20;

/** Throws what opening throws; damage of the file comes as a fault. */
export function verifyLog(log: LedgerReader, options: VerifyOptions): Verification {
  const found = new Findings();
  const rows = new FixtureRows();
  const kept = new KeptCheck();
  const assessed = new Set<number>();
  const seen = new Map(options.seen?.map((head) => [head.sequence, head.hash]));
  const gaps: (readonly [number, number])[] = [];
  const imports: Extract<LogEvent, { type: 'job imported' }>[] = [];
  let atHead: string | undefined;
  let before = 0;
  let isLost = false;
  let keys: readonly KnownKey[] = [];
  let end = { events: 0, sequence: 0, head: '' };
  found.guard(() => {
    const examined = log.examine((stored, raw) => {
      const { event, sequence } = stored;
      rows.see(event);
      kept.see(event, raw);
      if (event.type === 'assessed') assessed.add(event.job);
      const witnessed = seen.get(sequence);
      seen.delete(sequence);
      if (witnessed !== undefined && witnessed !== raw.hash)
        found.faults.push(
          `event ${sequence} has another hash than another log has seen: this log was rebuilt`,
        );
      if (event.type === 'job imported') imports.push(event);
      if (sequence === options.head?.sequence) atHead = raw.hash;
      if (sequence > before + 1) {
        gaps.push([before, sequence]);
        isLost ||=
          options.head !== undefined && options.head.sequence > before && options.head.sequence < sequence;
        found.notes.push(
          `restored from a backup that ended with event ${before}; events ${before + 1} to ${sequence - 1} are left out`,
        );
      }
      before = sequence;
      if (event.type === 'clock stepped')
        found.notes.push(`the clock went back from ${event.from} to ${event.to} (event ${sequence})`);
    }, FAULTS_MAX);
    found.faults.push(...examined.faults);
    keys = examined.keys;
    end = examined.end;
  });
  const isWhole = found.faults.length === 0;
  if (isWhole) {
    found.guard(() => kept.checkTexts((job) => log.keptTexts(job), found));
    kept.checkPhotos(
      (photo) => readPhoto(log.path, photo),
      (photo) => photoPath(log.path, photo),
      found,
    );
    for (const what of rows.unexplained()) found.open.push(what);
    for (const imported of imports) checkImport(log, imported, found);
    if (options.rejudge)
      for (const job of [...assessed].filter((j) => options.jobs?.includes(j) ?? true)) {
        const own = (hash: string) => options.programOf(hash) ?? programIn(log, hash, found);
        found.guard(() =>
          found.rejudged(
            log.events(job).map((e) => e.event),
            own,
          ),
        );
        options.progress?.(found.results.toTheBit + found.results.toRounding);
      }
  }
  checkKeys(keys, options.fingerprint, found);
  for (const sequence of isWhole ? seen.keys() : [])
    if (!gaps.some(([after, until]) => sequence > after && sequence < until))
      found.faults.push(`event ${sequence}, which another log has seen, is not in this one: it was cut off`);
  if (options.head !== undefined && isWhole) {
    if (isLost)
      found.open.push(
        `event ${options.head.sequence} is of the part that was lost before the log was restored: this log cannot tell`,
      );
    else if (atHead?.startsWith(options.head.hash) !== true)
      found.faults.push(
        atHead === undefined
          ? `event ${options.head.sequence} is not in this log: it was cut off, or this is another log`
          : `event ${options.head.sequence} has another hash than the one given: this log was rebuilt, or goes on from a copy (a forked chain)`,
      );
  }
  return {
    what: 'log',
    writer: log.writer,
    events: end.events,
    head: { sequence: end.sequence, hash: end.head },
    keys: keys.map((key) => ({ ...key, fingerprint: fingerprintOf(key.publicKey) })),
    captures: rows.counts(),
    ...found.said(),
  };
}

/** Throws 261 and 253 where the file has not even the form. */
export function verifyExport(content: Uint8Array, name: string, options: VerifyOptions): Verification {
  const exported = parseExport(content, name);
  const { writer, job, events, seal, head } = exported;
  const found = new Findings();
  const rows = new FixtureRows();
  const kept = new KeptCheck();
  const check = new ChainCheck(writer, { partial: true });
  const ofJob: JobEvent[] = [];
  for (const raw of events) {
    const faults = check.next(raw);
    found.faults.push(...faults.map((fault) => fault.what));
    if (faults.length > 0) continue;
    const event = JSON.parse(raw.eventJson) as LogEvent;
    if ('job' in event && event.job !== job)
      found.faults.push(`event ${raw.sequence} is of job ${event.job}`);
    rows.see(event);
    kept.see(event, raw);
  }
  if (found.faults.length === 0) ofJob.push(...eventsOf(exported).map((stored) => stored.event));
  if (found.faults.length === 0 && ofJob[0]?.type !== 'job opened')
    found.faults.push(`job ${job} does not begin with its opening`);
  const last = events.at(-1);
  if (last !== undefined && last.sequence > head.sequence)
    found.faults.push('its head is before its last event');
  if (last !== undefined && last.sequence === head.sequence && last.hash !== head.hash)
    found.faults.push('its head is not its last event');
  checkSeal(exported, check.keys.at(-1)?.publicKey, found);
  checkEnclosed(exported, kept, found);
  if (found.faults.length === 0) {
    found.open.push(...rows.unexplained({ partial: true }));
    if (options.rejudge) found.guard(() => found.rejudged(ofJob, options.programOf));
  }
  checkKeys(check.keys, options.fingerprint, found);
  return {
    what: 'exported job',
    writer,
    job,
    events: events.length,
    head: { sequence: head.sequence, hash: head.hash },
    keys: check.keys.map((key) => ({ ...key, fingerprint: fingerprintOf(key.publicKey) })),
    captures: rows.counts(),
    ...found.said(),
    notes: [...found.notes, `sealed with the key ${fingerprintOf(seal.publicKey)}`],
  };
}

/** What is found on the way. */
class Findings {
  readonly faults: string[] = [];
  readonly open: string[] = [];
  readonly notes: string[] = [];
  readonly results = { toTheBit: 0, toRounding: 0 };

  /** Damage that ends the reading is a fault like others; other errors pass. */
  guard(work: () => void): void {
    try {
      work();
    } catch (error) {
      if (!(error instanceof NumberedError) || error.number !== 252) throw error;
      this.faults.push(error.about);
    }
  }

  rejudged(events: readonly JobEvent[], programOf: VerifyOptions['programOf']): void {
    const { toTheBit, toRounding, otherwise, notTried } = rejudgeJob(events, programOf);
    this.results.toTheBit += toTheBit;
    this.results.toRounding += toRounding;
    this.faults.push(...otherwise);
    this.open.push(...notTried);
  }

  said(): Pick<Verification, 'faults' | 'open' | 'notes' | 'results'> {
    const { faults, open, notes, results } = this;
    return { faults, open, notes, results };
  }
}

/** Texts and photos beside the chain: which there have to be, and which were deleted. */
class KeptCheck {
  readonly texts = new Map<string, number>();
  readonly photos = new Map<string, Extract<JobEvent, { type: 'photo attached' }>>();
  readonly solvers = new Set<string>();
  private readonly deleted = new Map<string, string>();

  see(event: LogEvent, raw: RawEvent): void {
    const text = apartIn(JSON.parse(raw.eventJson));
    if (text !== undefined && 'job' in event) this.texts.set(text, event.job);
    if (event.type === 'photo attached') this.photos.set(event.sha256, event);
    if (event.type === 'solver known') this.solvers.add(event.sha256);
    if (event.type === 'deleted')
      for (const hash of event.sha256s)
        this.deleted.set(
          hash,
          `${event.what} of job ${event.job} deleted ${raw.at} by ${event.by}: ${event.reason}`,
        );
  }

  isDeleted(hash: string): boolean {
    return this.deleted.has(hash);
  }

  checkTexts(textsOf: LedgerReader['keptTexts'], found: Findings): void {
    for (const job of new Set(this.texts.values())) {
      const texts = new Map(textsOf(job).map((text) => [text.sha256, text]));
      for (const [hash, of] of this.texts) {
        if (of !== job) continue;
        const text = texts.get(hash);
        if (text === undefined && !this.deleted.has(hash))
          found.faults.push(`a text of job ${job} is missing, and no event says that it was deleted`);
        if (text !== undefined && saltedHash(text.salt, text.text) !== hash)
          found.faults.push(`a text of job ${job} is not the one that was signed`);
        if (text !== undefined && this.deleted.has(hash))
          found.faults.push(`a text of job ${job} is there although it was deleted`);
      }
    }
    found.notes.push(...new Set(this.deleted.values()));
  }

  checkPhotos(
    contentOf: (photo: { readonly sha256: string; readonly kind: 'jpeg' | 'png' }) => Uint8Array | undefined,
    nameOf: (photo: { readonly sha256: string; readonly kind: 'jpeg' | 'png' }) => string,
    found: Findings,
  ): void {
    for (const photo of this.photos.values()) {
      if (this.deleted.has(photo.sha256)) continue;
      const content = contentOf(photo);
      if (content === undefined)
        found.faults.push(
          `a photo of job ${photo.job} is missing, and no event says that it was deleted: ${nameOf(photo)}`,
        );
      else if (sha256(content) !== photo.sha256)
        found.faults.push(`a photo of job ${photo.job} is not the one that was signed: ${nameOf(photo)}`);
    }
  }
}

function programIn(log: LedgerReader, hash: string, found: Findings): Program | undefined {
  const program = log.program(hash);
  if (program === undefined || sha256(program.text) === hash) return program;
  found.faults.push(`solver ${hash.slice(0, 12)}… is not the one that was signed`);
  return undefined;
}

function checkImport(
  log: LedgerReader,
  { sha256: hash, writer, foreignJob }: Extract<LogEvent, { type: 'job imported' }>,
  found: Findings,
): void {
  const file = log.exportedJob(hash);
  if (file === undefined || sha256(file) !== hash)
    found.faults.push(
      `job ${foreignJob} of ${writer}, imported, is ${file === undefined ? 'missing' : 'changed'}`,
    );
}

function checkSeal({ seal, sealed }: SealedExport, current: string | undefined, found: Findings): void {
  if (seal.sha256 !== sealed)
    found.faults.push('the seal is of other bytes: something in the file was changed');
  if (!signatureHolds(seal.publicKey, sealText(seal.sha256), seal.signature))
    found.faults.push('the signature of the seal does not hold');
  if (seal.publicKey !== current) found.faults.push('the seal is of another key than the events');
}

function checkEnclosed({ texts, photos, programs }: SealedExport, kept: KeptCheck, found: Findings): void {
  for (const { sha256: hash, salt, text } of texts) {
    if (!kept.texts.has(hash)) found.faults.push('it holds a text that no event names');
    if (saltedHash(salt, text) !== hash) found.faults.push('a text is not the one that was signed');
    if (kept.isDeleted(hash)) found.faults.push('it holds a text that was deleted');
  }
  for (const { sha256: hash, content } of photos) {
    if (!kept.photos.has(hash)) found.faults.push('it holds a photo that no event names');
    if (sha256(content) !== hash) found.faults.push('a photo is not the one that was signed');
  }
  for (const { sha256: hash, text } of programs) {
    if (!kept.solvers.has(hash)) found.faults.push('it holds a solver that no event names');
    if (sha256(text) !== hash) found.faults.push('a solver is not the one that was signed');
  }
  const missing = [...kept.texts.keys()].filter((hash) => !texts.some((t) => t.sha256 === hash)).length;
  if (missing > 0) found.notes.push(`${missing} texts that name or quote a customer are not in the file`);
}

function checkKeys(keys: readonly KnownKey[], fingerprint: string | undefined, found: Findings): void {
  const last = keys.at(-1);
  if (last === undefined) return;
  const known = fingerprintOf(last.publicKey);
  if (fingerprint !== undefined && !known.startsWith(fingerprint.toLowerCase()))
    return void found.faults.push(`it is signed with the key ${known}, not with the one given`);
  for (const key of keys)
    if (!key.vouched && fingerprint === undefined)
      found.open.push(
        `the key since event ${key.since} took over from a lost one, which does not vouch for it: compare its fingerprint ${fingerprintOf(key.publicKey)} with the shop's`,
      );
}
