/** What the parity suite needs to know about one exported function. */
import type { Random } from '../../../host/simulation/random';
import type { Tolerance } from '../compare';
import type { Plain } from '../lua';

export interface Cases {
  /**
   * Makes one list of arguments: plain values only (numbers, texts, booleans, arrays, objects). Called `count` times
   * with one seeded source. Every list is tried twice in Lua: with all numbers as floats, and with the integer-valued
   * ones as Lua integers, so a generator should often give integer-valued numbers (`numbers.ts` has sources).
   */
  readonly generate: (random: Random) => Plain[];
  /** How many lists; 200 unless said otherwise. */
  readonly count?: number;
  /** Without it the bits must be equal. */
  readonly tolerance?: Tolerance;
  /**
   * For a function that takes or returns functions: the name of a function in the module's `drivers/` file that uses it
   * with plain arguments and returns a plain result, and is called in its place.
   */
  readonly driver?: string;
}

/** From the name of each exported function to its cases. */
export type CasesByName = Readonly<Record<string, Cases>>;
