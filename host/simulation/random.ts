import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plusFromState } from 'pure-rand/generator/xoroshiro128plus';

/** A seeded source of random numbers. The same seed gives the same numbers on every machine. */
export interface Random {
  /** Uniform in [0, 1). */
  uniform(): number;
  /** Uniform in [low, high). */
  between(low: number, high: number): number;
  /** Normal with mean 0 and the given standard deviation (Box and Muller). */
  normal(sd: number): number;
  /** True with this probability. */
  chance(probability: number): boolean;
  /** An independent source that does not disturb this one: same seed and name, same numbers. */
  split(name: string): Random;
}

export function seededRandom(seed: number): Random {
  // The library's own seeding leaves the first numbers of neighbouring seeds alike (the first uniform is always above
  // 0.9 for small seeds), and campaigns count seeds upward: so every word of the state is a scrambled seed.
  const generator = xoroshiro128plusFromState(
    [1, 2, 3, 4].map((word) => scrambled(seed + word * 0x9e3779b9)),
  );
  const uniform = () => uniformFloat64(generator);
  return {
    uniform,
    between: (low, high) => low + (high - low) * uniform(),
    normal: (sd) => sd * Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform()),
    chance: (probability) => uniform() < probability,
    split: (name) =>
      seededRandom(
        [...name].reduce((hash, c) => (Math.imul(hash, 31) + c.charCodeAt(0)) | 0, scrambled(seed)),
      ),
  };
}

/** A 32-bit word in which every bit depends on every bit of the argument (the finaliser of MurmurHash3). */
export function scrambled(word: number): number {
  let bits = word | 0;
  bits = Math.imul(bits ^ (bits >>> 16), 0x85ebca6b);
  bits = Math.imul(bits ^ (bits >>> 13), 0xc2b2ae35);
  return bits ^ (bits >>> 16);
}
