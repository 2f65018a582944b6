/** Takes a job out of a log as one sealed text, and takes another writer's into a log as foreign. */
import { numberedError } from '../errors/errors';
import { apartIn } from './apart';
import { sha256 } from './chain';
import type { JobEvent, StoredEvent } from './events';
import { eventsOf, exportText, parseExport, type ExportedJob, type SealedExport } from './exported-job';
import { entryAfter, type JobEntry } from './job-index';
import { fingerprintOf, type SigningKey } from './keys';
import type { Ledger, LedgerReader, Seal } from './ledger';
import { readPhoto } from './photos';

export interface ExportOptions {
  readonly key: SigningKey;
  readonly at: string;
  /** Texts that name the customer too; the complaint is always in it. */
  readonly customer: boolean;
}

/** Throws 256 when there is no such job. */
export function exportJob(log: LedgerReader, job: number, { key, at, customer }: ExportOptions): string {
  const raws = log.rawEventsOfJob(job);
  const events = log.events(job).map((e) => e.event);
  const head = log.seal();
  if (events[0]?.type !== 'job opened' || head === undefined)
    throw numberedError('no such job', `job ${job}`);
  const shown = new Set(
    raws.flatMap(({ eventJson }) => {
      const event = JSON.parse(eventJson) as { readonly type: string };
      const hash = apartIn(event);
      return hash !== undefined && (customer || event.type !== 'customer stated') ? [hash] : [];
    }),
  );
  const solvers = new Set(events.flatMap((e) => (e.type === 'solver known' ? [e.sha256] : [])));
  const exported: ExportedJob = {
    writer: log.writer,
    job,
    exportedAt: at,
    head,
    events: raws.filter((raw) => raw.sequence <= head.sequence),
    texts: log.keptTexts(job).filter((text) => shown.has(text.sha256)),
    photos: photosOf(events).flatMap((photo) => {
      const content = readPhoto(log.path, photo);
      return content === undefined ? [] : [{ sha256: photo.sha256, content }];
    }),
    programs: [...solvers].flatMap((hash) => log.program(hash) ?? []),
  };
  return exportText(exported, key);
}

/** Photos of a job that were not deleted. */
export function photosOf(events: readonly JobEvent[]): Extract<JobEvent, { type: 'photo attached' }>[] {
  const deleted = new Set(events.flatMap((e) => (e.type === 'deleted' ? e.sha256s : [])));
  return events.filter((e) => e.type === 'photo attached').filter((e) => !deleted.has(e.sha256));
}

/**
 * The file has been verified. Gives the number under which the job stands here. Throws 267 when it is of this log; a file
 * that is here already gives its old number.
 */
export function importJob(ledger: Ledger, content: Uint8Array, name: string, by: string): number {
  const exported = parseExport(content, name);
  const hash = sha256(content);
  const here = ledger
    .jobs()
    .find((e) => e.foreign !== undefined && fileOf(ledger, e.foreign.importedAs) === hash);
  if (here?.foreign !== undefined) return here.foreign.importedAs;
  const first = exported.events[0]?.hash;
  if (ledger.rawEvents(0, 1)[0]?.hash === first) throw numberedError('own job', name);
  const { writer, job: foreignJob, seal, head } = exported;
  let entry: JobEntry | undefined;
  for (const { event, at } of eventsOf(exported)) entry = entryAfter(entry, event, at);
  if (entry === undefined) throw numberedError('export unreadable', name);
  const { publicKey } = seal;
  const number = ledger.importJob(
    { type: 'job imported', sha256: hash, writer, foreignJob, publicKey, by },
    new TextDecoder().decode(content),
    entry,
  );
  ledger.appendOfShop({ type: 'heads seen', heads: [head] });
  return number;
}

/** A job that was imported: its events with the writer's own signatures checked at its import. Throws 266. */
export function foreignJob(
  log: LedgerReader,
  importedAs: number,
): {
  readonly events: StoredEvent[];
  readonly writer: string;
  readonly publicKey: string;
  /** What vouches for the job's last event. */
  readonly seal: Seal;
  readonly file: string;
} {
  const hash = fileOf(log, importedAs);
  const file = hash === undefined ? undefined : log.exportedJob(hash);
  if (file === undefined || sha256(file) !== hash)
    throw numberedError('no such imported job', `F${importedAs}`);
  const exported = parseExport(Buffer.from(file), `F${importedAs}`);
  const events = eventsOf(exported);
  const last = exported.events.find((raw) => raw.hash === events.at(-1)?.hash);
  if (last === undefined) throw numberedError('no such imported job', `F${importedAs}`);
  const key = keyAt(exported, last.sequence);
  const { writer, sequence, hash: lastHash, signature } = last;
  const seal = {
    writer,
    sequence,
    hash: lastHash,
    signature,
    publicKey: key,
    fingerprint: fingerprintOf(key),
  };
  return { events, writer, publicKey: exported.seal.publicKey, seal, file };
}

/** The key that signed an event of a job, which is no change of the key itself. */
function keyAt({ events, seal }: SealedExport, sequence: number): string {
  const changes = events
    .filter((raw) => raw.sequence < sequence)
    .map((raw) => JSON.parse(raw.eventJson) as { readonly type: string; readonly publicKey?: string })
    .filter((event) => event.type === 'key made' || event.type === 'key changed');
  return changes.at(-1)?.publicKey ?? seal.publicKey;
}

function fileOf(log: LedgerReader, importedAs: number): string | undefined {
  const [raw] = log.rawEvents(importedAs - 1, 1);
  if (raw?.sequence !== importedAs) return undefined;
  const event = JSON.parse(raw.eventJson) as { readonly type: string; readonly sha256?: string };
  return event.type === 'job imported' ? event.sha256 : undefined;
}
