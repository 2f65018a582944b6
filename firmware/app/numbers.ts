/**
 * Numbers of the wire's tables by their names, so that the program reads in words. To be looked up once, when a module is
 * loaded: the tables themselves are then forgotten.
 */
import { FIXTURE_ERRORS, PHASES } from '../../protocol/wire';
import type { Code, FixtureErrorName } from '../../protocol/wire';

type Numbers<Name extends string> = { readonly [N in Name]: number };

/** The value of each name in a table of codes. */
export function codesOf<T extends readonly Code[]>(table: T): Numbers<T[number]['name']> {
  const codes: { [name: string]: number } = {};
  for (const code of table) codes[code.name] = code.value;
  return codes as Numbers<T[number]['name']>;
}

/** The bit of each name in a bit set whose bit numbers a table gives. */
export function bitsOf<T extends readonly Code[]>(table: T): Numbers<T[number]['name']> {
  const bits: { [name: string]: number } = {};
  for (const code of table) bits[code.name] = powerOfTwo(code.value);
  return bits as Numbers<T[number]['name']>;
}

export const PHASE = codesOf(PHASES);

const ERRORS: { [name: string]: number } = {};
for (const entry of FIXTURE_ERRORS) ERRORS[entry.name] = entry.number;

export function errorNumber(name: FixtureErrorName): number {
  return ERRORS[name];
}

/** The bit that an error has in `status.faults`. */
export function faultBit(name: FixtureErrorName): number {
  return powerOfTwo(errorNumber(name) - 100);
}

function powerOfTwo(exponent: number): number {
  let power = 1;
  for (let i = 0; i < exponent; i++) power *= 2;
  return power;
}
