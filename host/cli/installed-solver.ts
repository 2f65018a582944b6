/** The solver of this installation, as the one file that records keep by its hash. */
import { readFileSync } from 'node:fs';
import { programOf, type Program } from '../ledger/program';

/** It stands beside the command line in the build. */
export function installedSolver(): Program {
  return programOf(readFileSync(new URL('solver.js', import.meta.url), 'utf8'));
}
