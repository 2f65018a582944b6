/** Keeping records: a job out and in as one file, backup and restoration, texts and photos beside the chain. */
import { existsSync, readFileSync } from 'node:fs';
import { numberedError } from '../errors/errors';
import { apartIn } from '../ledger/apart';
import { backUp, restore } from '../ledger/backup';
import type { CustomerField } from '../ledger/events';
import { exportJob, foreignJob, importJob, photosOf } from '../ledger/export-job';
import { readKey } from '../ledger/keys';
import type { Ledger, LedgerReader } from '../ledger/ledger';
import { erasePhoto, keepPhoto, photoOf, photoPath } from '../ledger/photos';
import { verifyExport } from '../ledger/verify';
import { shortForm } from '../views/seal-view';
import { dirname } from 'node:path';
import { jobNumber } from './job-number';
import { jobRef } from './job-ref';
import { makeFolder, print, printJson, writeOut } from './output';
import { reading, writing } from './with-log';

export interface LogOptions {
  readonly log: string;
  readonly bay: string;
  readonly json?: boolean;
}

function say(
  options: { readonly json?: boolean },
  value: unknown,
  ...lines: readonly string[]
): Promise<number> {
  if (options.json === true) printJson(value);
  else print(...lines);
  return Promise.resolve(0);
}

export function exportOne(
  named: string,
  options: LogOptions & { readonly to?: string; readonly customer?: boolean },
): Promise<number> {
  const ref = jobRef(named);
  const file = options.to ?? `records/job-${named}.swathplane-job`;
  if (existsSync(file)) throw numberedError('file exists', file);
  const text = reading(options, (log) =>
    'importedAs' in ref
      ? foreignJob(log, ref.importedAs).file
      : exportJob(log, ref.job, {
          key: readKey(options.log),
          at: new Date().toISOString(),
          customer: options.customer === true,
        }),
  );
  writeOut(file, Buffer.from(text));
  return say(options, { file }, `Job ${named}: ${file}`, `  Check it: swathplane verify ${file}`);
}

export function importOne(file: string, options: LogOptions & { readonly by: string }): Promise<number> {
  const content = bytesOf(file);
  const found = verifyExport(content, file, { rejudge: false, programOf: () => undefined });
  if (found.faults[0] !== undefined)
    throw numberedError('export does not verify', `${file}: ${found.faults[0]}`);
  const number = writing(options, (ledger) => importJob(ledger, content, file, options.by));
  const key = found.keys.at(-1)?.fingerprint ?? '';
  return say(
    options,
    { imported: `F${number}`, writer: found.writer, job: found.job, fingerprint: key },
    `Job ${found.job ?? ''} of ${found.writer} is here as F${number}, as foreign. Its own signatures hold.`,
    `  Signed with the key ${shortForm(key)}: compare it with the one that shop gives.`,
  );
}

export function backup(
  options: LogOptions & { readonly to: string; readonly withKey?: boolean },
): Promise<number> {
  makeFolder(dirname(options.to));
  const head = backUp(options.log, options.to, options.withKey === true);
  return say(
    options,
    { file: options.to, ...head },
    `${options.to}: ${head.events} events, verified, to event ${head.sequence}, check number ${shortForm(head.head)}`,
    options.withKey === true
      ? '  The private key is in it: keep it locked away; whoever has it can sign as this bay.'
      : '  The private key is not in it (--with-key); a log restored from it goes on with a new key that nothing vouches for.',
    '  Texts of customers that are deleted later stay in this copy: delete old copies too.',
  );
}

export function restoreFrom(
  file: string,
  options: LogOptions & { readonly by: string; readonly eventSeen: number; readonly jobSeen: number },
): Promise<number> {
  makeFolder(dirname(options.log));
  const { by, eventSeen, jobSeen, bay } = options;
  const { key } = restore(file, options.log, { writer: bay, now: () => new Date(), by, eventSeen, jobSeen });
  return say(
    options,
    { log: options.log, key },
    `${options.log} goes on from ${file}. Numbers that the lost log may have given are left out: see the event 'log restored'.`,
    ...(key ? [] : ['  The key was not in the backup: a new one signs on, see `swathplane keys`.']),
    '  If the old log turns up again, do not write it on: it would be a second chain of the same writer.',
  );
}

export type CustomerOptions = LogOptions &
  Readonly<Partial<Record<'name' | 'phone' | 'email' | 'address' | 'note', string>>>;

export function customer(named: string, options: CustomerOptions): Promise<number> {
  const job = jobNumber(named);
  const said = (['name', 'phone', 'email', 'address', 'note'] as const).flatMap((field) => {
    const text = options[field];
    const kept: CustomerField = field === 'email' ? 'e-mail' : field;
    return text === undefined ? [] : [{ field: kept, text }];
  });
  if (said.length > 0)
    writing(options, (ledger) => {
      wanted(ledger, job);
      for (const { field, text } of said) ledger.append({ type: 'customer stated', job, field, text });
    });
  const stated = reading(options, (log) => {
    wanted(log, job);
    return log.events(job).flatMap(({ event }) => (event.type === 'customer stated' ? [event] : []));
  });
  const fields = Object.fromEntries(stated.map((event) => [event.field, event.text]));
  return say(options, fields, ...Object.entries(fields).map(([field, text]) => `${field}: ${text}`));
}

export function photo(
  named: string,
  files: readonly string[],
  options: LogOptions & { readonly by: string },
): Promise<number> {
  const job = jobNumber(named);
  const photos = files.map((file) => {
    const content = bytesOf(file);
    return { content, photo: photoOf(content, file) };
  });
  writing(options, (ledger) => {
    wanted(ledger, job);
    for (const { content, photo: one } of photos) {
      keepPhoto(options.log, one, content);
      ledger.append({ type: 'photo attached', job, ...one, by: options.by });
    }
  });
  const all = reading(options, (log) => photosOf(log.events(job).map((e) => e.event)));
  return say(
    options,
    all.map((one) => ({ ...one, file: photoPath(options.log, one) })),
    ...all.map((one) => `${one.sha256}  ${one.bytes} bytes  ${photoPath(options.log, one)}`),
  );
}

export type ForgetOptions = LogOptions & {
  readonly customer?: boolean;
  readonly complaint?: boolean;
  readonly photos?: boolean;
  readonly by: string;
  readonly reason: string;
};

export function forget(named: string, options: ForgetOptions): Promise<number> {
  const job = jobNumber(named);
  const { by, reason } = options;
  if (by === '') throw numberedError('name wanted', 'forget');
  const kinds = (['customer', 'complaint', 'photos'] as const).filter((kind) => options[kind] === true);
  if (kinds.length === 0)
    throw numberedError('command not understood', 'say what: --customer, --complaint, --photos');
  const done = writing(options, (ledger) =>
    kinds.map((what) => {
      wanted(ledger, job);
      const photos = what === 'photos' ? photosOf(ledger.events(job).map((e) => e.event)) : [];
      const sha256s = what === 'photos' ? photos.map((p) => p.sha256) : keptHashes(ledger, job, what);
      if (sha256s.length === 0) throw numberedError('nothing to delete', `${what} of job ${job}`);
      ledger.deleteTexts({ type: 'deleted', job, what, sha256s, by, reason });
      for (const one of photos) erasePhoto(options.log, one);
      return { what, deleted: sha256s.length };
    }),
  );
  return say(
    options,
    done,
    ...done.map(
      ({ what, deleted }) => `Job ${job}, ${what}: ${deleted} deleted. The signed record stands and says so.`,
    ),
    '  Backups made before still hold them: delete those too.',
  );
}

/** Texts of this kind that are kept, by their hashes. */
function keptHashes(log: LedgerReader, job: number, what: 'customer' | 'complaint'): string[] {
  const kept = new Set(log.keptTexts(job).map((text) => text.sha256));
  const type = what === 'customer' ? 'customer stated' : 'claim stated';
  return log.rawEventsOfJob(job).flatMap(({ eventJson }) => {
    const event = JSON.parse(eventJson) as { readonly type: string };
    const hash = event.type === type ? apartIn(event) : undefined;
    return hash !== undefined && kept.has(hash) ? [hash] : [];
  });
}

function wanted(log: LedgerReader | Ledger, job: number): void {
  if (log.events(job)[0]?.event.type !== 'job opened') throw numberedError('no such job', `job ${job}`);
}

function bytesOf(file: string): Uint8Array<ArrayBuffer> {
  try {
    return new Uint8Array(readFileSync(file));
  } catch (cause) {
    throw numberedError('file not found', file, cause);
  }
}
