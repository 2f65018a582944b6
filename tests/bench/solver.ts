/** Prints the solver's times, medians of single runs after warming up, and what a start of the command line costs. */
import { explainFaults, judge, solveTips, turnInSteps, whatToTurn } from '../../protocol/solver';
import { hanging, layout, questions, readingsRound, widths } from './example';
import { startTimes } from './start';
import { byEngine, byLibrary, randomProblem } from './least-squares';

/** Interleaved, so that both sides of a comparison meet the same moods of the machine. */
function mediansMs(runs: number, ...tasks: (() => unknown)[]): number[] {
  const times = tasks.map((): number[] => []);
  for (let run = 0; run < runs; run++) {
    for (const [k, task] of tasks.entries()) {
      const start = performance.now();
      task();
      times[k].push(performance.now() - start);
    }
  }
  return times.map((list) => list.sort((a, b) => a - b)[Math.floor(list.length / 2)]);
}

function show(what: string, ms: number) {
  console.log(`${what.padEnd(58)} ${ms.toFixed(3).padStart(9)} ms`);
}

for (const rounds of [1, 4, 8]) {
  const readings = readingsRound(rounds);
  const [ms] = mediansMs(rounds === 1 ? 2000 : 60, () =>
    judge(solveTips(layout, readings, widths, questions), questions),
  );
  show(`solve and judge, 3 spindles, ${readings.length} readings`, ms);
}
const solved = solveTips(layout, readingsRound(1), widths, questions);
const [faultsMs] = mediansMs(200, () => explainFaults(layout, readingsRound(1), widths, questions, solved));
show(`explain faults, 3 spindles, ${readingsRound(1).length} readings`, faultsMs);
const solution = solveTips(layout, readingsRound(1), widths, questions);
const [turningMs] = mediansMs(200, () => whatToTurn(solution, hanging, questions, [true, true, true, true]));
show('what to turn, 4 hangers, 4 adjusters', turningMs);
const flats = [1, 1, 1, 1].map((flat) => flat / 6);
const [stepsMs] = mediansMs(200, () => {
  const solved = solveTips(layout, readingsRound(1), widths, questions);
  judge(solved, questions);
  return turnInSteps(solved, hanging, questions, [true, true, true, true], flats);
});
show('solve, judge and what to turn in whole flats', stepsMs);

for (const [count, size] of [
  [12, 3],
  [50, 26],
  [200, 26],
]) {
  const problem = randomProblem(count, size, 1);
  const [ours, library] = mediansMs(
    2000,
    () => byEngine(problem),
    () => byLibrary(problem),
  );
  show(`least squares ${count} x ${size}: ours`, ours);
  show(`least squares ${count} x ${size}: ml-matrix QR`, library);
  console.log(`  ratio ours / ml-matrix ${(ours / library).toFixed(2)}`);
}

const { emptyMs, helpMs } = startTimes(15);
show('an empty start of Node', emptyMs);
show('swathplane --help', helpMs);
console.log(`  help costs ${(helpMs - emptyMs).toFixed(1)} ms beyond it`);
