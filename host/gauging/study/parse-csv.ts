/**
 * Reads studies and lists of values from separated text: comma, semicolon or tab, point or comma as decimal sign, quotes
 * after RFC 4180, with or without a byte order mark. What could be read in two ways is refused.
 */
import { numberedError } from '../../errors/errors';
import type { StudyReading } from './readings';

export interface Line {
  /** In the file, counted from 1. */
  readonly number: number;
  readonly fields: readonly string[];
}

const COLUMNS = {
  part: ['part', 'parts', 'item', 'sample', 'piece', 'tip'],
  operator: ['operator', 'operators', 'appraiser', 'technician', 'inspector', 'fixture', 'instrument'],
  trial: ['trial', 'trials', 'repeat', 'replicate', 'repetition'],
  value: ['value', 'measurement', 'measured', 'reading', 'result', 'height', 'heightmm'],
} as const;
type Column = keyof typeof COLUMNS;
/** Sums of squares of larger numbers leave the range of numbers. */
const LARGEST = 1e100;
const IN_ORDER: readonly Column[] = ['part', 'operator', 'trial', 'value'];

/** The readings of a study. Throws 470 and 471, naming the line. */
export function parseStudyCsv(text: string, source: string): StudyReading[] {
  const { lines, separator } = readLines(text, source, 'study unreadable');
  const header = headerOf(lines[0].fields);
  const columns = header ?? IN_ORDER.filter((c) => c !== 'trial' || lines[0].fields.length !== 3);
  const missing = (['part', 'operator', 'value'] as const).filter((c) => !columns.includes(c));
  if (missing.length > 0)
    throw numberedError(
      'study unreadable',
      `${source}, line ${lines[0].number}: no column ${missing.join(', ')}`,
    );
  const body = header === undefined ? lines : lines.slice(1);
  if (body.length === 0) throw numberedError('study unreadable', `${source} holds no readings`);
  const number = numberReader(
    body.map((l) => l.fields[columns.indexOf('value')] ?? ''),
    separator,
    source,
  );
  const trials = new Map<string, number>();
  return body.map((line) => {
    const at = `${source}, line ${line.number}`;
    if (line.fields.length !== columns.length) throw wrongCount(at, line, columns.length, separator);
    const field = (c: Column) => line.fields[columns.indexOf(c)] ?? '';
    const part = field('part');
    const operator = field('operator');
    if (part === '' || operator === '') throw numberedError('study unreadable', `${at}: a name is missing`);
    const cell = JSON.stringify([part, operator]);
    trials.set(cell, (trials.get(cell) ?? 0) + 1);
    const trial = columns.includes('trial') ? field('trial') : `${trials.get(cell)}`;
    if (trial === '') throw numberedError('study unreadable', `${at}: the trial is missing`);
    return { part, operator, trial, value: number(field('value'), at, 'study unreadable') };
  });
}

/** Lists of values, one list to a line; a first line without numbers is a header. Throws 471 and 474. */
export function parseValues(text: string, source: string): number[][] {
  const { lines, separator } = readLines(text, source, 'chart unreadable');
  const isHeader = lines[0].fields.every((f) => !/^[+-]?[.,]?\d/.test(f));
  const body = isHeader ? lines.slice(1) : lines;
  const number = numberReader(
    body.flatMap((l) => l.fields),
    separator,
    source,
  );
  return body.map((l) => l.fields.map((f) => number(f, `${source}, line ${l.number}`, 'chart unreadable')));
}

function headerOf(fields: readonly string[]): Column[] | undefined {
  const names = fields.map((f) => f.toLowerCase().replace(/[\s_()-]/g, ''));
  const found = names.map((n) => IN_ORDER.find((c) => (COLUMNS[c] as readonly string[]).includes(n)));
  const known = found.filter((c): c is Column => c !== undefined);
  if (known.length < 2) return undefined;
  const strange = fields.find((_, i) => found[i] === undefined);
  const twice = known.find((c, i) => known.indexOf(c) < i);
  if (strange !== undefined || twice !== undefined)
    throw numberedError(
      'study unreadable',
      `the header names ${twice ?? `'${strange ?? ''}'`}${twice === undefined ? ', which is no column' : ' twice'}`,
    );
  return known;
}

function readLines(text: string, source: string, error: 'study unreadable' | 'chart unreadable') {
  // What is no UTF-8 was read as U+FFFD, which no name is meant to hold.
  if (/[\0\ufffd]/.test(text))
    throw numberedError(error, `${source} is no text in UTF-8; save it as CSV, UTF-8`);
  const raw = text
    .replace(/^\ufeff/, '')
    .split(/\r\n|\n|\r/)
    .map((line, i) => ({ line, number: i + 1 }))
    .filter(({ line }) => line.trim() !== '' && !line.startsWith('#'));
  if (raw.length === 0) throw numberedError(error, `${source} is empty`);
  const separator = [';', '\t', ','].find((s) => raw[0].line.includes(s)) ?? ',';
  const lines = raw.map(({ line, number }): Line => ({
    number,
    fields: fieldsOf(line, separator, `${source}, line ${number}`, error),
  }));
  return { lines, separator };
}

function fieldsOf(
  line: string,
  separator: string,
  at: string,
  error: 'study unreadable' | 'chart unreadable',
): string[] {
  const fields: string[] = [];
  let rest = line;
  for (;;) {
    const quoted = /^ *"((?:[^"]|"")*)" */.exec(rest);
    const end = quoted === null ? rest.indexOf(separator) : quoted[0].length;
    if (quoted !== null) fields.push(quoted[1].replaceAll('""', '"').trim());
    else fields.push(unquoted((end < 0 ? rest : rest.slice(0, end)).trim(), at, error));
    if (end < 0 || end >= rest.length) break;
    if (!rest.startsWith(separator, end))
      throw numberedError(error, `${at}: a quotation mark too few or too many`);
    rest = rest.slice(end + separator.length);
  }
  return fields;
}

function unquoted(field: string, at: string, error: 'study unreadable' | 'chart unreadable'): string {
  if (field.includes('"')) throw numberedError(error, `${at}: a quotation mark too few or too many`);
  return field;
}

function wrongCount(at: string, line: Line, wanted: number, separator: string) {
  const split = separator === ',' && line.fields.length === wanted + 1;
  return split
    ? numberedError('decimal sign unclear', `${at}: the comma seems to be both decimal sign and separator`)
    : numberedError('study unreadable', `${at}: ${line.fields.length} columns where ${wanted} are wanted`);
}

/** Reads numbers the same way in the whole file: with a point, or with a comma where the comma separates no columns. */
function numberReader(all: readonly string[], separator: string, source: string) {
  const withComma = all.find((f) => /^[+-]?\d*,\d+$/.test(f));
  const withPoint = all.find((f) => /^[+-]?\d*\.\d/.test(f));
  if (withComma !== undefined && withPoint !== undefined)
    throw numberedError('decimal sign unclear', `${source}: '${withComma}' beside '${withPoint}'`);
  if (withComma !== undefined && separator === ',')
    throw numberedError('decimal sign unclear', `${source}: '${withComma}'`);
  return (field: string, at: string, error: 'study unreadable' | 'chart unreadable'): number => {
    const text = withComma === undefined ? field : field.replace(',', '.');
    const value = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/.test(text) ? Number(text) : NaN;
    if (!Number.isFinite(value))
      throw numberedError(
        error,
        `${at}: ${field === '' ? 'the value is missing' : `'${field}' is no number`}`,
      );
    if (Math.abs(value) > LARGEST) throw numberedError(error, `${at}: '${field}' is too large for a reading`);
    return value;
  };
}
