/**
 * Run rules: patterns on a control chart that a process in control shows seldom.
 * Western Electric, Statistical Quality Control Handbook, 1956; L. S. Nelson, Journal of Quality Technology 16(4), 1984.
 */

export type RunRule = 'WE1' | 'WE2' | 'WE3' | 'WE4' | 'N1' | 'N2' | 'N3' | 'N4' | 'N5' | 'N6' | 'N7' | 'N8';

export const RUN_RULES: Readonly<Record<RunRule, string>> = {
  WE1: 'one point beyond 3 sd',
  WE2: 'two of three points beyond 2 sd on one side',
  WE3: 'four of five points beyond 1 sd on one side',
  WE4: 'eight points in a row on one side',
  N1: 'one point beyond 3 sd',
  N2: 'nine points in a row on one side',
  N3: 'six points in a row rising or falling',
  N4: 'fourteen points in a row going up and down in turn',
  N5: 'two of three points beyond 2 sd on one side',
  N6: 'four of five points beyond 1 sd on one side',
  N7: 'fifteen points in a row within 1 sd',
  N8: 'eight points in a row beyond 1 sd on either side',
};

export const WESTERN_ELECTRIC: readonly RunRule[] = ['WE1', 'WE2', 'WE3', 'WE4'];
export const NELSON: readonly RunRule[] = ['N1', 'N2', 'N3', 'N4', 'N5', 'N6', 'N7', 'N8'];

/** A rule that fired, and the point that completed its pattern, counted from 0. */
export interface Signal {
  readonly rule: RunRule;
  readonly at: number;
}

/** `scores`: distances from the centre line in standard deviations, oldest first. */
export function runSignals(scores: readonly number[], rules: readonly RunRule[]): Signal[] {
  return scores.flatMap((_, at) =>
    rules.filter((rule) => completes(scores.slice(0, at + 1), rule)).map((rule) => ({ rule, at })),
  );
}

/** Whether the last of these points completes the pattern. */
function completes(scores: readonly number[], rule: RunRule): boolean {
  const last = scores[scores.length - 1];
  const side = last >= 0 ? 1 : -1;
  const some = (of: number, need: number, beyond: number) =>
    side * last > beyond && scores.slice(-of).filter((z) => side * z > beyond).length >= need;
  const all = (count: number, holds: (z: number, i: number, run: readonly number[]) => boolean) =>
    scores.length >= count && scores.slice(-count).every(holds);
  switch (rule) {
    case 'WE1':
    case 'N1':
      return Math.abs(last) > 3;
    case 'WE2':
    case 'N5':
      return some(3, 2, 2);
    case 'WE3':
    case 'N6':
      return some(5, 4, 1);
    case 'WE4':
      return all(8, (z) => side * z > 0);
    case 'N2':
      return all(9, (z) => side * z > 0);
    case 'N3':
      return (
        all(6, (z, i, run) => i === 0 || z > run[i - 1]) || all(6, (z, i, run) => i === 0 || z < run[i - 1])
      );
    case 'N4':
      return all(14, (z, i, run) => i < 2 || (z - run[i - 1]) * (run[i - 1] - run[i - 2]) < 0);
    case 'N7':
      return all(15, (z) => Math.abs(z) < 1);
    case 'N8':
      return all(8, (z) => Math.abs(z) > 1);
  }
}
