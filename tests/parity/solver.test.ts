import { SOLVER_CASES } from './cases/solver';
import * as drivers from './drivers/solver';
import { checkParity } from './suite';

const FILE = new URL('./drivers/solver.ts', import.meta.url).pathname;

await checkParity('solver', FILE, drivers, SOLVER_CASES);
