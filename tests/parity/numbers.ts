/** Random numbers of the kinds that tell two runtimes apart. */
import type { Random } from '../../host/simulation/random';

export function pick<T>(random: Random, items: readonly T[]): T {
  return items[Math.floor(random.uniform() * items.length)];
}

/** An integer from `low` to `high`, both included, the ends more often than their share. */
export function integerBetween(random: Random, low: number, high: number): number {
  if (random.chance(0.2)) return pick(random, [low, high]);
  return low + Math.floor(random.uniform() * (high - low + 1));
}

/** Any finite double: ordinary, integer-valued, huge, tiny, zero of either sign. */
export function anyNumber(random: Random): number {
  const sign = pick(random, [1, -1]);
  switch (integerBetween(random, 0, 6)) {
    case 0:
      return sign * random.uniform();
    case 1:
      return sign * Math.floor(random.uniform() * 1000);
    case 2:
      return sign * Math.floor(random.uniform() * 2 ** 53);
    case 3:
      // Integer-valued and too large for a product in 64-bit integers.
      return sign * Math.floor(random.uniform() * 2 ** 20) * 2 ** 42;
    case 4:
      return sign * random.uniform() * 10 ** Math.floor(random.between(-300, 300));
    case 5:
      return pick(random, [
        0,
        -0,
        1,
        -1,
        0.5,
        Number.MAX_VALUE,
        -Number.MAX_VALUE,
        Number.MIN_VALUE,
        2 ** 31,
        2 ** 32,
        2 ** 53,
      ]);
    default:
      return random.normal(100);
  }
}

/** A number of everyday size (up to about a thousand), often integer-valued, for functions that solve something. */
export function tameNumber(random: Random): number {
  const value = random.normal(300);
  return random.chance(0.4) ? Math.round(value) : value;
}

export function listOf<T>(length: number, item: () => T): T[] {
  return Array.from({ length }, item);
}
