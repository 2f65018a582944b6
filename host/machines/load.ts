/** Reads machine profiles: from text, by name, or all that come with the tool. Every refusal is numbered and says where. */
import { readFileSync } from 'node:fs';
import { z } from 'zod';
import { numberedError } from '../errors/errors';
import { contradictionsOf } from './contradictions';
import { findJsonFault } from './json-fault';
import { profileSchema } from './profile';
import type { MachineProfile } from './profile';
import cressidine93 from './profiles/cressidine-93.json';
import dunfallow116 from './profiles/dunfallow-116.json';
import hobthrush150 from './profiles/hobthrush-150.json';
import larkpenny51 from './profiles/larkpenny-51.json';
import orrinshaw106 from './profiles/orrinshaw-106.json';
import pimwick76 from './profiles/pimwick-76.json';
import quellbeck133 from './profiles/quellbeck-133.json';
import thrushmoor248 from './profiles/thrushmoor-248.json';
import wexcarrow183 from './profiles/wexcarrow-183.json';

// Imported, not read from a folder, so that the bundled command line carries them.
const OWN_PROFILES: readonly unknown[] = [
  pimwick76,
  larkpenny51,
  orrinshaw106,
  cressidine93,
  quellbeck133,
  dunfallow116,
  hobthrush150,
  wexcarrow183,
  thrushmoor248,
];

/**
 * The profile written in `text`; `source` says in errors where the text comes from.
 * Throws 301 (not JSON, with line and column), 302 (fields missing or of the wrong form, all of them), 303 (statements
 * that cannot all be true, all of them) and 304 (swing blades).
 */
export function parseProfile(text: string, source: string): MachineProfile {
  const plain = text.startsWith('\ufeff') ? text.slice(1) : text;
  const fault = findJsonFault(plain);
  if (fault !== undefined) {
    throw numberedError(
      'profile unreadable',
      `${source}, line ${fault.line}, column ${fault.column}: expected ${fault.expected}`,
    );
  }
  return checkProfile(JSON.parse(plain), source);
}

/**
 * The profile called `nameOrFile`: the model of one that comes with the tool (capitals and the space may be left out:
 * `quellbeck-133`), or a file. Throws 305 and what `parseProfile` throws.
 */
export function loadProfile(nameOrFile: string): MachineProfile {
  const listed = listProfiles().find(({ model }) => plainName(model) === plainName(nameOrFile));
  if (listed !== undefined) return listed;
  let text: string;
  try {
    text = readFileSync(nameOrFile, 'utf8');
  } catch (cause) {
    throw numberedError(
      'no such machine',
      `'${nameOrFile}' is no machine of the list and no readable file`,
      cause,
    );
  }
  return parseProfile(text, nameOrFile);
}

/** All profiles that come with the tool, checked, fewest spindles first. */
export function listProfiles(): readonly MachineProfile[] {
  return OWN_PROFILES.map((data) => checkProfile(data, 'a profile of this tool'));
}

/** The form of a profile as JSON Schema draft-07, for editors. Contradictions (303) are beyond what a schema can say. */
export function profileJsonSchema(): object {
  return z.toJSONSchema(profileSchema, { target: 'draft-7' });
}

function plainName(name: string): string {
  return name.toLowerCase().replace(/[^a-z0-9]+/g, '-');
}

function checkProfile(data: unknown, source: string): MachineProfile {
  if (typeof data === 'object' && data !== null && 'bladeKind' in data && data.bladeKind === 'swing') {
    throw numberedError('blade not measurable', source);
  }
  const checked = profileSchema.safeParse(data);
  if (!checked.success) {
    const faults = checked.error.issues.flatMap((issue) => wordIssue(issue, data));
    throw numberedError('profile incomplete', `${source}: ${faults.join('; ')}`);
  }
  const contradictions = contradictionsOf(checked.data);
  if (contradictions.length > 0)
    throw numberedError('profile contradictory', `${source}: ${contradictions.join('; ')}`);
  return checked.data;
}

/** One fault of form as path, what is expected and what was found. */
function wordIssue(issue: z.core.$ZodIssue, data: unknown): string[] {
  const path = wordPath(issue.path);
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((key) => `${wordPath([...issue.path, key])}: not a field of a profile`);
  }
  return [`${path}: expected ${expectation(issue)}, found ${wordFound(valueAt(data, issue.path))}`];
}

function expectation(issue: z.core.$ZodIssue): string {
  if (issue.code === 'invalid_type') return issue.expected === 'tuple' ? 'a list' : article(issue.expected);
  if (issue.code === 'too_small')
    return bound(issue.origin, issue.inclusive === false ? 'more than' : 'at least', issue.minimum);
  if (issue.code === 'too_big')
    return bound(issue.origin, issue.inclusive === false ? 'less than' : 'at most', issue.maximum);
  if (issue.code === 'invalid_value') return issue.values.map((value) => `'${String(value)}'`).join(' or ');
  // The issue lists the values of a discriminator beside what its type declares.
  if (issue.code === 'invalid_union' && 'options' in issue)
    return (issue.options as string[]).map((option) => `'${option}'`).join(' or ');
  if (issue.code === 'invalid_format' && issue.format === 'regex') return 'small letters, digits and hyphens';
  return issue.message;
}

function bound(origin: string, relation: string, limit: number | bigint): string {
  const of = origin === 'string' ? ' characters' : origin === 'array' ? ' entries' : '';
  return `${relation} ${limit}${of}`;
}

function article(type: string): string {
  const words: Record<string, string> = {
    array: 'a list',
    object: 'an object',
    boolean: 'true or false',
    string: 'a text',
  };
  return words[type] ?? `a ${type}`;
}

function wordPath(path: readonly PropertyKey[]): string {
  if (path.length === 0) return 'the whole file';
  return path.reduce<string>((text, key) => {
    if (typeof key === 'number') return `${text}[${key}]`;
    return text === '' ? String(key) : `${text}.${String(key)}`;
  }, '');
}

function valueAt(data: unknown, path: readonly PropertyKey[]): unknown {
  return path.reduce<unknown>(
    (value, key) =>
      typeof value === 'object' && value !== null ? (value as Record<PropertyKey, unknown>)[key] : undefined,
    data,
  );
}

function wordFound(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (Array.isArray(value)) return `a list of ${value.length}`;
  if (typeof value === 'object' && value !== null) return 'an object';
  const text = typeof value === 'string' ? `'${value}'` : JSON.stringify(value);
  return text.length > 60 ? `${text.slice(0, 57)}...` : text;
}
