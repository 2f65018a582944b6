/** Numbers of the wire's tables by their names, so that the program reads in words. */
import { FIXTURE_ERRORS } from '../../protocol/wire';
import type { Code, FixtureErrorName } from '../../protocol/wire';

/** The value that `name` has in one of the tables of codes. */
export function codeOf<T extends readonly Code[]>(table: T, name: T[number]['name']): number {
  for (const code of table) if (code.name === name) return code.value;
  throw new Error(name + ': not in the table');
}

/** The bit that `name` has in a bit set whose bit numbers a table gives. */
export function bitOf<T extends readonly Code[]>(table: T, name: T[number]['name']): number {
  return powerOfTwo(codeOf(table, name));
}

export function errorNumber(name: FixtureErrorName): number {
  for (const entry of FIXTURE_ERRORS) if (entry.name === name) return entry.number;
  throw new Error(name + ': not in the table');
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
