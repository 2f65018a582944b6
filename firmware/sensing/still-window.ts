/**
 * The still window: the samples since things came to rest, as running sums, so that a window of any length costs the
 * same memory and time.
 *
 * It is kept in two parts, older and newer. As soon as the newer part alone is good enough the older one is forgotten: a
 * capture is never older than twice the time that its noise demands.
 */

/** Below this many samples the standard deviation is too uncertain to stop on. */
export const SAMPLES_MIN = 16;
/** Drift is looked for at every eighth sample: looking more often raises false alarms, not sensitivity. */
const CHECK_EVERY = 8;
/**
 * In standard deviations of the slope. It is looked at some thousand times while a fixture stands still for minutes, and a
 * false alarm costs the whole window.
 */
const DRIFT_SEEN = 4.5;
/** While it drifts, less is enough to say that it still does. */
const DRIFT_STILL_SEEN = 2.5;
/** The newer part must be this much better than asked before the older is forgotten, or the window would flicker. */
const FORGET_MARGIN = 0.9;
/** Variance of rounding to whole counts: the noise of one sample is never taken to be less. */
const ROUNDING_VARIANCE = 1 / 12;

export interface StillWindow {
  restart(): void;
  /** Adds one sample: counts, specific force (ug), temperature (0.01 degC); `targetCounts` is the wanted error of the mean. */
  add(
    counts: number,
    xUg: number,
    yUg: number,
    zUg: number,
    temperatureCentiC: number,
    targetCounts: number,
  ): void;
  samples(): number;
  mean(): number;
  /** Of one sample, n - 1. */
  standardDeviation(): number;
  /** Of the mean; 0 samples: undefined. */
  standardError(): number | undefined;
  /** Least-squares slope in counts a sample. */
  slope(): number;
  drifting(): boolean;
  meanForce(axis: 0 | 1 | 2): number;
  meanTemperature(): number;
}

/** Sums of one part, counts taken from the window's origin, index from the window's first sample. */
interface Sums {
  n: number;
  d: number;
  dd: number;
  id: number;
  x: number;
  y: number;
  z: number;
  t: number;
}

export function createStillWindow(): StillWindow {
  let older = emptySums();
  let newer = emptySums();
  let origin = 0;
  let drifts = false;
  /** A drift that took so many samples to be seen is gone when as many went by without it. */
  let driftClearsAt = 0;

  function forgetOlder(): void {
    newer.id -= older.n * newer.d;
    const emptied = older;
    older = newer;
    newer = emptied;
    clear(newer);
  }

  function restart(): void {
    clear(older);
    clear(newer);
    drifts = false;
  }

  function variance(): number {
    const n = older.n + newer.n;
    const d = older.d + newer.d;
    return n < 2
      ? ROUNDING_VARIANCE
      : Math.max(ROUNDING_VARIANCE, (older.dd + newer.dd - (d * d) / n) / (n - 1));
  }

  function slope(): number {
    const n = older.n + newer.n;
    if (n < 2) return 0;
    return (older.id + newer.id - ((n - 1) / 2) * (older.d + newer.d)) / indexSquares(n);
  }

  function lookForDrift(targetCounts: number): void {
    const n = older.n + newer.n;
    if (n < SAMPLES_MIN) return;
    const rise = slope();
    const sxx = indexSquares(n);
    const residual = Math.max(ROUNDING_VARIANCE, (variance() * (n - 1) - rise * rise * sxx) / (n - 2));
    const size = Math.abs(rise);
    const seen = size * Math.sqrt(sxx / residual) > (drifts ? DRIFT_STILL_SEEN : DRIFT_SEEN);
    if (seen && size * n > 2 * targetCounts) {
      drifts = true;
      driftClearsAt = n;
      clear(older);
      clear(newer);
    } else if (drifts && n >= driftClearsAt) {
      drifts = false;
    }
  }

  function newerIsEnough(targetCounts: number): boolean {
    const n = newer.n;
    if (n < SAMPLES_MIN) return false;
    const v = Math.max(ROUNDING_VARIANCE, (newer.dd - (newer.d * newer.d) / n) / (n - 1));
    const wanted = FORGET_MARGIN * targetCounts;
    return v <= n * wanted * wanted;
  }

  return {
    restart: () => restart(),
    add: (counts, xUg, yUg, zUg, temperatureCentiC, targetCounts) => {
      const index = older.n + newer.n;
      if (index === 0) origin = counts;
      const d = (counts - origin) / 1;
      newer.n += 1;
      newer.d += d;
      newer.dd += d * d;
      newer.id += index * d;
      newer.x += xUg;
      newer.y += yUg;
      newer.z += zUg;
      newer.t += temperatureCentiC;
      if (newer.n % CHECK_EVERY !== 0) return;
      lookForDrift(targetCounts);
      if (!drifts && newerIsEnough(targetCounts)) forgetOlder();
    },
    samples: () => older.n + newer.n,
    mean: () => origin + (older.d + newer.d) / (older.n + newer.n),
    standardDeviation: () => Math.sqrt(variance()),
    standardError: () => {
      const n = older.n + newer.n;
      return n === 0 ? undefined : Math.sqrt(variance() / n);
    },
    slope: () => slope(),
    drifting: () => drifts,
    meanForce: (axis) => {
      const n = older.n + newer.n;
      if (axis === 0) return (older.x + newer.x) / n;
      return axis === 1 ? (older.y + newer.y) / n : (older.z + newer.z) / n;
    },
    meanTemperature: () => (older.t + newer.t) / (older.n + newer.n),
  };
}

/** Sum of squared distances of 0, 1, ... n - 1 from their mean. */
function indexSquares(n: number): number {
  return (n * (n * n - 1)) / 12;
}

function emptySums(): Sums {
  return { n: 0, d: 0, dd: 0, id: 0, x: 0, y: 0, z: 0, t: 0 };
}

function clear(sums: Sums): void {
  sums.n = 0;
  sums.d = 0;
  sums.dd = 0;
  sums.id = 0;
  sums.x = 0;
  sums.y = 0;
  sums.z = 0;
  sums.t = 0;
}
