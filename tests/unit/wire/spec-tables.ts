/**
 * The tables of the specification, made from the code. In `protocol/SPEC.md` each stands between the lines
 * `<!-- table NAME -->` and `<!-- end -->`.
 */
import type { Code, Field, MessageDefinition } from '../../../protocol/wire/index';
import {
  FIXTURE_ERRORS,
  HAPPENINGS,
  LAMPS,
  MESSAGES,
  PHASES,
  PURPOSES,
  RESET_CAUSES,
  SELF_TESTS,
  TABLE_HASH,
  WAITING,
} from '../../../protocol/wire/index';

const DEFINITIONS: readonly MessageDefinition[] = MESSAGES;

/** Every table in Markdown, by the name that marks its place. */
export function specTables(): Record<string, string> {
  return {
    messages: messageTable(),
    fields: DEFINITIONS.map(fieldTable).join('\n\n'),
    phases: codeTable('value', PHASES),
    waiting: codeTable('bit', WAITING),
    purposes: codeTable('value', PURPOSES),
    'reset causes': codeTable('value', RESET_CAUSES),
    'self tests': codeTable('bit', SELF_TESTS),
    happenings: codeTable('value', HAPPENINGS),
    lamps: codeTable('value', LAMPS),
    errors: table(
      ['number', 'name', 'cause', 'next step'],
      FIXTURE_ERRORS.map((e) => [String(e.number), e.name, e.cause, e.nextStep]),
    ),
    'table hash': `\`tableHash\` of this version: **${TABLE_HASH}** = 0x${TABLE_HASH.toString(16).padStart(8, '0')}`,
    'canonical text': ['```text', ...canonicalLines(), '```'].join('\n'),
  };
}

/** `spec` with every marked table as the code has it. Throws when a table is missing or a name is not known. */
export function withTables(spec: string): string {
  const tables = specTables();
  const placed = new Set<string>();
  const updated = spec.replaceAll(/^<!-- table ([^\n]+) -->$.*?^<!-- end -->$/gms, (_all, name: string) => {
    const text = tables[name];
    if (text === undefined) throw new Error(`the specification wants a table called ${name}`);
    placed.add(name);
    return `<!-- table ${name} -->\n\n${text}\n\n<!-- end -->`;
  });
  const missing = Object.keys(tables).filter((name) => !placed.has(name));
  if (missing.length > 0) throw new Error(`the specification lacks the tables ${missing.join(', ')}`);
  return updated;
}

/** The lines of the canonical text, without their line feeds. What a message means is prose and not part of it. */
export function canonicalLines(): string[] {
  return DEFINITIONS.flatMap((m) => {
    const words = [m.id.toString(16).padStart(2, '0'), m.name, m.from, m.kind, m.answeredBy ?? '-', m.since];
    return [
      `message ${words.join(' ')} ${m.frozen === true ? 'frozen' : '-'}`,
      ...m.fields.map((field) => `field ${field.type} ${field.name} ${field.unit}`),
    ];
  });
}

function messageTable(): string {
  return table(
    ['id', 'name', 'from', 'kind', 'answered by', 'since', 'core', 'meaning'],
    DEFINITIONS.map((m) => [
      hexByte(m.id),
      `\`${m.name}\``,
      m.from,
      m.kind,
      m.answeredBy === undefined ? '' : `\`${m.answeredBy}\``,
      m.since,
      m.frozen === true ? 'frozen' : '',
      m.meaning,
    ]),
  );
}

const SIZES: Partial<Record<Field['type'], number>> = { u8: 1, u16: 2, u32: 4, i16: 2, i32: 4 };

function fieldTable(message: MessageDefinition): string {
  const title = `#### ${hexByte(message.id)} \`${message.name}\``;
  if (message.fields.length === 0) return `${title}\n\nNo fields.`;
  let offset: number | undefined = 2;
  const rows = message.fields.map((field) => {
    const at = offset === undefined ? 'next' : String(offset);
    const size = SIZES[field.type];
    offset = offset === undefined || size === undefined ? undefined : offset + size;
    return [at, `\`${field.name}\``, field.type, field.unit, field.meaning];
  });
  return `${title}\n\n${table(['at', 'field', 'type', 'unit or coding', 'meaning'], rows)}`;
}

function codeTable(title: 'value' | 'bit', codes: readonly Code[]): string {
  return table(
    [title, 'name', 'meaning'],
    codes.map((c) => [String(c.value), c.name, c.meaning]),
  );
}

function table(titles: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]) => `| ${cells.join(' | ')} |`;
  return [line(titles), line(titles.map(() => '---')), ...rows.map(line)].join('\n');
}

const hexByte = (byte: number) => `0x${byte.toString(16).padStart(2, '0')}`;
