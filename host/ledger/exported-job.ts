/** One job as one text file, to be handed to others: written, read and taken apart. The format is FORMAT.md's. */
import { numberedError } from '../errors/errors';
import { putTogether, type KeptText } from './apart';
import { canonicalJson } from './canonical';
import { sha256, type RawEvent } from './chain';
import type { JobEvent, SeenHead, StoredEvent } from './events';
import { isJobEvent } from './event-types';
import type { SigningKey } from './keys';
import { programOf, type Program } from './program';

/** Version of the format and of the log's layout. */
const VERSION = '2';
const KEYWORD = 'swathplane-job';

export interface ExportedJob {
  readonly writer: string;
  readonly job: number;
  readonly exportedAt: string;
  /** Where the writer's chain ended at that moment. */
  readonly head: SeenHead;
  /** Of the job, of the writer's keys, clock and restorations, in the order of the sequence. */
  readonly events: readonly RawEvent[];
  readonly texts: readonly KeptText[];
  readonly photos: readonly { readonly sha256: string; readonly content: Uint8Array }[];
  readonly programs: readonly Program[];
}

export interface SealedExport extends ExportedJob {
  readonly seal: { readonly publicKey: string; readonly sha256: string; readonly signature: string };
  /** SHA-256 of the bytes that the seal covers, as they are. */
  readonly sealed: string;
}

/** What a seal signs. */
export function sealText(hash: string): string {
  return `swathplane job export\n${hash}\n`;
}

export function exportText(exported: ExportedJob, key: SigningKey): string {
  const { writer, job, exportedAt, head } = exported;
  const body = [
    `${KEYWORD} ${VERSION}`,
    `writer ${canonicalJson(writer)}`,
    `job ${job}`,
    `exported ${exportedAt}`,
    `head ${head.sequence} ${head.hash}`,
    ...exported.events.map((e) =>
      ['event', e.sequence, e.at, e.previous, e.jobPrevious, e.hash, e.signature, e.eventJson].join(' '),
    ),
    ...exported.texts.map((t) => `text ${t.sha256} ${t.salt} ${canonicalJson(t.text)}`),
    ...exported.photos.map((p) => `photo ${p.sha256} ${Buffer.from(p.content).toString('base64')}`),
    ...exported.programs.map((p) => `program ${p.sha256} ${Buffer.from(p.text).toString('base64')}`),
    '',
  ].join('\n');
  const hash = sha256(body);
  return `${body}seal ${key.publicKey} ${hash} ${key.sign(sealText(hash))}\n`;
}

/** Whether a file claims to be an exported job. */
export function looksExported(text: string): boolean {
  return text.startsWith(`${KEYWORD} `);
}

/** Reads the form, not the truth: what it says is verified elsewhere. Throws 261 naming the line, 253 when it is newer. */
export function parseExport(content: Uint8Array, name: string): SealedExport {
  const unreadable = (what: string, cause?: unknown) =>
    numberedError('export unreadable', `${name}: ${what}`, cause);
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(content);
  } catch (cause) {
    throw unreadable('it is not UTF-8', cause);
  }
  const lines = text.split('\n');
  if (lines.pop() !== '') throw unreadable('its last line has no end');
  const version = /^swathplane-job (\d{1,6})$/.exec(lines[0] ?? '')?.[1];
  if (version !== undefined && Number(version) > Number(VERSION))
    throw numberedError('log from a newer version', `${name} has format ${version}`);
  const found = lines.map((line, i) => {
    const form = LINES.find(({ keyword }) => line.startsWith(`${keyword} `));
    const fields = form?.fieldsOf(line);
    if (form === undefined || fields === undefined) throw unreadable(`line ${i + 1} has no known form`);
    return { form, fields };
  });
  for (const [i, { form }] of found.entries()) {
    const before = found[i - 1]?.form;
    const isNext =
      before === undefined
        ? form === LINES[0]
        : form === before
          ? form.many
          : LINES.slice(LINES.indexOf(before) + 1, LINES.indexOf(form)).every((between) => between.many);
    if (!isNext || (before !== undefined && LINES.indexOf(form) < LINES.indexOf(before)))
      throw unreadable(`line ${i + 1} stands where it does not belong`);
  }
  if (found.at(-1)?.form.keyword !== 'seal') throw unreadable('it has no seal');
  const of = (keyword: string) => found.filter(({ form }) => form.keyword === keyword).map((f) => f.fields);
  const one = (keyword: string) => of(keyword)[0] ?? [];
  try {
    const writer = string(one('writer')[0]);
    const [sequence = '', hash = ''] = one('head');
    const [publicKey = '', sealHash = '', signature = ''] = one('seal');
    const sealLine = `${lines.at(-1) ?? ''}\n`;
    return {
      writer,
      job: Number(one('job')[0]),
      exportedAt: one('exported')[0] ?? '',
      head: { writer, sequence: Number(sequence), hash },
      events: of('event').map((fields) => rawEvent(writer, fields)),
      texts: of('text').map(([hash = '', salt = '', text]) => ({ sha256: hash, salt, text: string(text) })),
      photos: of('photo').map(([hash = '', base64]) => ({ sha256: hash, content: bytes(base64) })),
      programs: of('program').map(([hash = '', base64]) => ({
        ...programOf(Buffer.from(bytes(base64)).toString()),
        sha256: hash,
      })),
      seal: { publicKey, sha256: sealHash, signature },
      sealed: sha256(content.subarray(0, content.length - Buffer.byteLength(sealLine))),
    };
  } catch (cause) {
    throw unreadable(cause instanceof Error ? cause.message : 'malformed', cause);
  }
}

/** The job's events with their texts, as views take them; texts that are not in the file show as deleted. */
export function eventsOf({ writer, job, events, texts }: ExportedJob): StoredEvent[] {
  const textOf = (hash: string) => texts.find((t) => t.sha256 === hash)?.text;
  return events.flatMap(({ sequence, at, hash, eventJson }) => {
    const event: unknown = putTogether(JSON.parse(eventJson), textOf);
    return isJobEvent(event) && event.job === job
      ? [{ writer, sequence, at, hash, event: event satisfies JobEvent }]
      : [];
  });
}

const HASH = /^[0-9a-f]{64}$/u;
const NO_HASH = /^(-|[0-9a-f]{64})$/u;
const SIGNATURE = /^[0-9a-f]{128}$/u;
const COUNT = /^[1-9]\d{0,14}$/u;
const TIME = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/u;
const TEXT = /^".*"$/su;
const OBJECT = /^\{.*\}$/su;
/** Of the length of a photo: it is not looked at before it is decoded. */
const BASE64 = /^/u;

const line = (keyword: string, many: boolean, ...forms: readonly RegExp[]) => ({
  keyword,
  many,
  /** What stands behind the keyword, if all of it has its form; a space may stand in the last field alone. */
  fieldsOf: (text: string): readonly string[] | undefined => {
    const words = text.split(' ', forms.length).slice(1);
    const length = words.reduce((sum, word) => sum + word.length + 1, keyword.length + 1);
    const fields = [...words, text.slice(length)];
    const isWhole = text[length - 1] === ' ' && forms.every((form, i) => form.test(fields[i] ?? ''));
    return isWhole ? fields : undefined;
  },
});

/** In the order in which they stand. */
const LINES = [
  line(KEYWORD, false, new RegExp(`^${VERSION}$`)),
  line('writer', false, TEXT),
  line('job', false, COUNT),
  line('exported', false, TIME),
  line('head', false, COUNT, HASH),
  line('event', true, COUNT, TIME, HASH, NO_HASH, HASH, SIGNATURE, OBJECT),
  line('text', true, HASH, HASH, TEXT),
  line('photo', true, HASH, BASE64),
  line('program', true, HASH, BASE64),
  line('seal', false, HASH, HASH, SIGNATURE),
] as const;

function rawEvent(writer: string, fields: readonly string[]): RawEvent {
  const [sequence, at = '', previous = '', jobPrevious = '', hash = '', signature = '', eventJson = ''] =
    fields;
  return { writer, sequence: Number(sequence), at, previous, jobPrevious, hash, signature, eventJson };
}

/** A JSON string in its one canonical form. */
function string(json = ''): string {
  const text: unknown = JSON.parse(json);
  if (typeof text !== 'string' || canonicalJson(text) !== json)
    throw new TypeError('a text is not canonical');
  return text;
}

/** Base64 in its one form: other bits in the last digit would be another text of the same bytes. */
function bytes(base64 = ''): Uint8Array<ArrayBuffer> {
  const decoded = Buffer.from(base64, 'base64');
  if (decoded.toString('base64') !== base64) throw new TypeError('base64 is not in its one form');
  return new Uint8Array(decoded);
}
