/**
 * Where a text stops being JSON. The engine's own message names no place for many faults and quotes what it met there, and
 * an object that states one key twice passes it silently, so the place is found by reading the text after RFC 8259.
 */
import { numberedError, type HostErrorName } from './errors';

/** The JSON written in `text`. Throws the error called `otherwise` with line and column; `source` is where the text comes from. */
export function readJson(text: string, source: string, otherwise: HostErrorName): unknown {
  const plain = text.startsWith('\ufeff') ? text.slice(1) : text;
  const fault = findJsonFault(plain);
  if (fault === undefined) return JSON.parse(plain);
  const { line, column, expected } = fault;
  throw numberedError(otherwise, `${source}, line ${line}, column ${column}: expected ${expected}`);
}

export interface JsonFault {
  /** Both count from 1, as editors show them. */
  readonly line: number;
  readonly column: number;
  readonly expected: string;
}

/** The first fault of a text after RFC 8259, or undefined when it is JSON and no object states a key twice. */
export function findJsonFault(text: string): JsonFault | undefined {
  const reader = new JsonReader(text);
  try {
    reader.document();
    return undefined;
  } catch (fault) {
    if (!(fault instanceof Fault)) throw fault;
    const before = text.slice(0, fault.at).split('\n');
    return {
      line: before.length,
      column: (before[before.length - 1] ?? '').length + 1,
      expected: fault.expected,
    };
  }
}

class Fault extends Error {
  constructor(
    readonly at: number,
    readonly expected: string,
  ) {
    super(expected);
  }
}

const SPACE = /[ \t\n\r]*/y;
const SCALAR = /true|false|null|-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?/y;
// The control characters are what RFC 8259 forbids inside a string.
const STRING = /"(?:[^"\\\u0000-\u001f]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*"/y;
/** Deeper nesting is no profile of ours, and must not exhaust the stack. */
const DEEPEST = 100;

class JsonReader {
  private at = 0;
  private depth = 0;

  constructor(private readonly text: string) {}

  document(): void {
    this.value();
    this.match(SPACE);
    if (this.at < this.text.length) throw new Fault(this.at, 'the end of the file');
  }

  private value(): void {
    this.match(SPACE);
    if (this.take('{')) this.list('}', () => this.memberOf(new Set()));
    else if (this.take('[')) this.list(']', () => () => this.value());
    else if (this.match(STRING) === undefined && this.match(SCALAR) === undefined) {
      throw new Fault(this.at, this.text[this.at] === '"' ? 'a string that ends on its line' : 'a value');
    }
  }

  /** Items up to `close`; `begin` gives the reader of one item, fresh for each list. */
  private list(close: string, begin: () => () => void): void {
    this.depth += 1;
    if (this.depth > DEEPEST) throw new Fault(this.at, `no more than ${DEEPEST} levels`);
    const item = begin();
    this.match(SPACE);
    if (!this.take(close)) {
      do item();
      while (this.separator(close));
    }
    this.depth -= 1;
  }

  private separator(close: string): boolean {
    this.match(SPACE);
    if (this.take(',')) return true;
    if (this.take(close)) return false;
    throw new Fault(this.at, `',' or '${close}'`);
  }

  private memberOf(keys: Set<string>): () => void {
    return () => {
      this.match(SPACE);
      const start = this.at;
      const key = this.match(STRING);
      if (key === undefined) throw new Fault(start, 'a field name in double quotes');
      if (keys.has(key)) throw new Fault(start, `each field once, but ${key} stands twice`);
      keys.add(key);
      this.match(SPACE);
      if (!this.take(':')) throw new Fault(this.at, "':'");
      this.value();
    };
  }

  private take(character: string): boolean {
    if (this.text[this.at] !== character) return false;
    this.at += 1;
    return true;
  }

  private match(pattern: RegExp): string | undefined {
    pattern.lastIndex = this.at;
    const found = pattern.exec(this.text)?.[0];
    if (found !== undefined) this.at += found.length;
    return found;
  }
}
