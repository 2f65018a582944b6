/** Random least-squares problems for the bench: our core and the registry library solve the same ones. */
import { Matrix, QrDecomposition } from 'ml-matrix';
import { absorb, mean, noInformation, solve } from '../../protocol/solver';
import { seededRandom } from '../../host/simulation/random';

export interface Problem {
  readonly rows: number[][];
  readonly observed: number[];
}

export function randomProblem(count: number, size: number, seed: number): Problem {
  const random = seededRandom(seed);
  const rows: number[][] = [];
  const observed: number[] = [];
  for (let i = 0; i < count; i++) {
    rows.push(Array.from({ length: size }, () => random.normal(1)));
    observed.push(random.normal(1));
  }
  return { rows, observed };
}

export function byEngine({ rows, observed }: Problem): number[] {
  const size = rows[0].length;
  const columns = Array.from({ length: size }, (_, j) => rows.map((row) => row[j]));
  return mean(solve(absorb(noInformation(size), { columns, observed, logScale: 0 }))) ?? [];
}

export function byLibrary({ rows, observed }: Problem): number[] {
  return new QrDecomposition(new Matrix(rows)).solve(Matrix.columnVector(observed)).to1DArray();
}
