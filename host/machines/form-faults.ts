/** What is wrong with the form of a file, in words: where, what is expected there and what was found. */
import type { z } from 'zod';

/** One sentence per fault; `whole` is what the file should be, as in "a profile". */
export function formFaults(error: z.ZodError, data: unknown, whole: string): string[] {
  return error.issues.flatMap((issue) => wordIssue(issue, data, whole));
}

function wordIssue(issue: z.core.$ZodIssue, data: unknown, whole: string): string[] {
  const path = wordPath(issue.path);
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((key) => `${wordPath([...issue.path, key])}: not a field of ${whole}`);
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
