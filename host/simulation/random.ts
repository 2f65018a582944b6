import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

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
  const generator = xoroshiro128plus(seed | 0);
  const uniform = () => uniformFloat64(generator);
  return {
    uniform,
    between: (low, high) => low + (high - low) * uniform(),
    normal: (sd) => sd * Math.sqrt(-2 * Math.log(1 - uniform())) * Math.cos(2 * Math.PI * uniform()),
    chance: (probability) => uniform() < probability,
    split: (name) => seededRandom([...name].reduce((hash, c) => (Math.imul(hash, 31) + c.charCodeAt(0)) | 0, seed)),
  };
}
