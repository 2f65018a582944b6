/**
 * Three levels of time: repeats on one day, days within a run, runs. Standard deviations of each, for every item that was
 * measured and pooled. Formulas: NIST/SEMATECH e-Handbook of Statistical Methods, 2.4.4.
 */
import { grouped, meanOf, pooled, standardDeviation, type Spread } from './spread';

/** What one item showed on one day: the mean of its repeats and their standard deviation. */
export interface DayOfRepeats {
  readonly item: string;
  readonly run: string;
  readonly mean: number;
  readonly repeats: Spread;
}

export interface RunStability {
  readonly run: string;
  /** Level 1. */
  readonly repeatability: Spread;
  /** Level 2: of the day means, for each item and pooled. */
  readonly dayToDay: Spread;
  readonly byItem: readonly (Spread & { readonly item: string })[];
}

export interface Stability {
  readonly runs: readonly RunStability[];
  /** Level 3: of the means of runs; undefined with one run. */
  readonly runToRun?: Spread;
  readonly runToRunByItem: readonly (Spread & { readonly item: string })[];
}

export function stability(days: readonly DayOfRepeats[]): Stability {
  const runs = [...grouped(days, (d) => d.run)].map(([run, ofRun]): RunStability => {
    const byItem = [...grouped(ofRun, (d) => d.item)].map(([item, of]) => ({
      item,
      ...spreadOf(of.map((d) => d.mean)),
    }));
    return { run, repeatability: pooled(ofRun.map((d) => d.repeats)), dayToDay: pooled(byItem), byItem };
  });
  if (runs.length < 2) return { runs, runToRunByItem: [] };
  const runToRunByItem = [...grouped(days, (d) => d.item)].map(([item, ofItem]) => ({
    item,
    ...spreadOf([...grouped(ofItem, (d) => d.run).values()].map((of) => meanOf(of.map((d) => d.mean)))),
  }));
  return { runs, runToRun: pooled(runToRunByItem), runToRunByItem };
}

function spreadOf(values: readonly number[]): Spread {
  return { sd: standardDeviation(values), degreesOfFreedom: values.length - 1 };
}
