/** Functions that are not the same in the two runtimes, each for another reason. The parity check must find every one. */

/** Lua multiplies integers in 64 bits and lets them wrap. */
export function product(a: number, b: number): number {
  return a * b;
}

/** The sign of the remainder differs. */
export function remainder(a: number): number {
  return a % 7;
}

/** JavaScript shifts in 32 bits. */
export function shifted(a: number): number {
  return Math.floor(a) << 8;
}

/** One counts UTF-16 units, the other bytes. */
export function size(text: string): number {
  return text.length;
}

/** Differs in the last place only. */
export function lastPlace(a: number): number {
  return IS_LUA ? a * (1 + 2.220446049250313e-16) : a;
}

const IS_LUA = '\u00e9'.length === 2;
