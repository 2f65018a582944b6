/**
 * A Hampel filter over seven samples: a sample that lies far from the median of its neighbourhood, by the spread of that
 * neighbourhood, is replaced by the median. It removes single and double spikes and leaves steps where they are.
 *
 * Source: Hampel, "The influence curve and its role in robust estimation", J. Am. Stat. Assoc. 69 (1974); 1.4826 turns a
 * median absolute deviation into a standard deviation of a normal distribution. From memory.
 */

const WINDOW = 7;
const MIDDLE = 3;
/** With seven samples the spread is itself noisy; at four deviations about one good sample in a hundred is replaced. */
const THRESHOLD = 4 * 1.4826;
/** A quiet converter often repeats itself: the spread of equal values is 0 and must not make a spike of one count. */
const SMALLEST_SPIKE_COUNTS = 4;

/** How many samples the output lags behind the input. */
export const DESPIKE_LAG_SAMPLES = MIDDLE;

export interface Despiker {
  restart(): void;
  /** Takes the newest sample; returns the despiked one from three samples ago, or undefined until seven have come. */
  push(counts: number): number | undefined;
  /** Whether the sample returned last was a spike. */
  wasSpike(): boolean;
}

export function createDespiker(): Despiker {
  const ring: number[] = [0, 0, 0, 0, 0, 0, 0];
  const sorted: number[] = [0, 0, 0, 0, 0, 0, 0];
  let next = 0;
  let filled = 0;
  let spike = false;

  /** Puts `added` into the first `count` sorted values in place of the one at `hole`. */
  function resort(hole: number, count: number, added: number): void {
    let at = hole;
    while (at > 0 && sorted[at - 1] > added) {
      sorted[at] = sorted[at - 1];
      at -= 1;
    }
    while (at < count - 1 && sorted[at + 1] < added) {
      sorted[at] = sorted[at + 1];
      at += 1;
    }
    sorted[at] = added;
  }

  return {
    restart: () => {
      filled = 0;
      next = 0;
      spike = false;
    },
    push: (counts) => {
      if (filled < WINDOW) {
        filled += 1;
        resort(filled - 1, filled, counts);
      } else {
        let hole = 0;
        while (sorted[hole] !== ring[next]) hole += 1;
        resort(hole, WINDOW, counts);
      }
      ring[next] = counts;
      next = next === WINDOW - 1 ? 0 : next + 1;
      if (filled < WINDOW) return undefined;

      const centre = ring[next + MIDDLE < WINDOW ? next + MIDDLE : next + MIDDLE - WINDOW];
      const median = sorted[MIDDLE];
      const away = centre > median ? centre - median : median - centre;
      spike = away >= SMALLEST_SPIKE_COUNTS && away > THRESHOLD * medianDeviation(sorted);
      return spike ? median : centre;
    },
    wasSpike: () => spike,
  };
}

/** Median absolute deviation of seven sorted values: the fourth smallest, the median's own 0 being the first. */
function medianDeviation(sorted: readonly number[]): number {
  const median = sorted[MIDDLE];
  let below = MIDDLE - 1;
  let above = MIDDLE + 1;
  let deviation = 0;
  for (let step = 0; step < MIDDLE; step++) {
    const down = below >= 0 ? median - sorted[below] : sorted[above] - median;
    const up = above < WINDOW ? sorted[above] - median : down;
    if (below >= 0 && down <= up) {
      deviation = down;
      below -= 1;
    } else {
      deviation = up;
      above += 1;
    }
  }
  return deviation;
}
