/** How long measuring takes: a sequence beside the least that decides, and inspections of good machines in the simulated shop. */
import { DECIDING_PROBABILITY, fullSequence, planSequence, type ReadingTask } from '../../protocol/solver';
import { after, chanceOf, designRegret } from '../../protocol/solver/design';
import { secondsInOrder } from '../../protocol/solver/reading-order';
import { planeOnTarget, sceneOf } from '../../protocol/solver/scene';
import { loadProfile } from '../../host/machines/load';
import { layoutOf } from '../../host/procedure/assess';
import { modelledSeconds } from '../../host/procedure/reading-time';
import { readingTask } from '../../host/procedure/reading-task';
import { directJob } from './direct-job';

/** No design with a greater regret than this is accepted nine times in ten: minus the logarithm of 0.8. */
const HOPELESS = 0.22;
/** More subsets than this are not tried. */
const MOST_SUBSETS = 3_000_000;

/** Seconds of the cheapest subset of the places that decides, each subset tried; undefined when there are too many. */
export function leastSeconds(task: ReadingTask, below = Infinity): number | undefined {
  const plane = planeOnTarget(task.layout, task.questions);
  const scene = sceneOf({ ...task, plane, seatingPerClamping: false, taken: [] });
  let least = below;
  let tried = 0;
  const visit = (design: number[], from: number): boolean => {
    for (let place = from; place < task.places.length; place++) {
      const larger = [...design, place];
      const seconds = secondsInOrder(task, larger);
      // A larger design costs more: nothing beyond this one can be cheaper.
      if (seconds >= least) continue;
      tried += 1;
      if (tried > MOST_SUBSETS) return false;
      const decides =
        designRegret(scene, larger) < HOPELESS &&
        chanceOf(scene, after(scene, larger), larger) >= DECIDING_PROBABILITY;
      if (decides) least = seconds;
      else if (!visit(larger, place + 1)) return false;
    }
    return true;
  };
  return visit([], 0) ? least : undefined;
}

/** The surest of all subsets of the places that take no longer than `limitS`. */
function surestWithin(task: ReadingTask, limitS: number): { chance: number; tried: number } {
  const plane = planeOnTarget(task.layout, task.questions);
  const scene = sceneOf({ ...task, plane, seatingPerClamping: false, taken: [] });
  let chance = 0;
  let tried = 0;
  const visit = (design: number[], from: number) => {
    for (let place = from; place < task.places.length; place++) {
      const larger = [...design, place];
      if (secondsInOrder(task, larger) > limitS) continue;
      tried += 1;
      // The exact chance is not counted where the regret puts it far below.
      if (Math.exp(-designRegret(scene, larger)) > chance - 0.02)
        chance = Math.max(chance, chanceOf(scene, after(scene, larger), larger));
      visit(larger, place + 1);
    }
  };
  visit([], 0);
  return { chance, tried };
}

/** Level, rake and height of three spindles alone, with used and with new blades, beside the bar of 120 s. */
function withoutBendText(barS = 120): string[] {
  const profile = loadProfile('quellbeck-133');
  const whole = readingTask({ profile }, layoutOf(profile));
  return [whole.widths.bendMm, 0.7, 0.5].map((bendMm) => {
    const task = {
      ...whole,
      questions: whole.questions.filter((q) => q.what === 'tips'),
      widths: { ...whole.widths, bendMm },
    };
    const plan = planSequence(task);
    const least = leastSeconds(task, plan.seconds);
    const { chance, tried } = surestWithin(task, barS);
    return `${profile.model} without bend, ends differing by 2 x ${bendMm} mm (sd): ${plan.steps.length} readings, ${plan.seconds} s, ${(100 * plan.acceptsCentred).toFixed(1)} %; least that decides ${least ?? plan.seconds} s; surest of ${tried} subsets within ${barS} s: ${(100 * chance).toFixed(1)} %`;
  });
}

export interface Inspections {
  readonly jobs: number;
  /** Modelled seconds of all readings until the machine as it came was decided or given up, sorted. */
  readonly seconds: readonly number[];
  readonly passed: number;
}

/** Good three-spindle machines, hangers within half a millimetre of where they belong, read as they come. */
export function inspections(jobs: number, seed: number): Inspections {
  const profile = loadProfile('quellbeck-133');
  const seconds: number[] = [];
  let passed = 0;
  for (let i = 0; i < jobs; i++) {
    const { state, stages } = directJob(seed + i, profile, {
      sequence: 'quick',
      untilTurning: true,
      hangerErrorSdMm: 0.5,
    });
    seconds.push(modelledSeconds(state.readings));
    if (stages.at(-1)?.assessment.result.decision === 'pass') passed += 1;
  }
  return { jobs, passed, seconds: seconds.sort((a, b) => a - b) };
}

export function sequencesText(seed: number, jobs: number, machines: readonly string[]): string[] {
  const { seconds, passed } = inspections(jobs, seed);
  const at = (share: number) => seconds[Math.floor(share * (seconds.length - 1))] ?? NaN;
  return [
    ...machines.flatMap((name) => {
      const profile = loadProfile(name);
      const task = readingTask({ profile }, layoutOf(profile));
      const plan = planSequence(task);
      const full = fullSequence(task);
      const least = plan.decides ? leastSeconds(task, plan.seconds) : undefined;
      return [
        `${profile.model}, ${profile.spindles.length} spindle(s): ${plan.steps.length} readings, ${plan.seconds} s, accepts a centred machine with ${(100 * plan.acceptsCentred).toFixed(1)} %; full sequence ${full.seconds} s, ${(100 * full.acceptsCentred).toFixed(1)} %`,
        plan.decides
          ? `  least of all subsets that decides: ${least === undefined ? `not found among ${MOST_SUBSETS} cheaper subsets` : `${least} s`}`
          : '  one seating does not decide on an unsurveyed floor',
      ];
    }),
    ...withoutBendText(),
    `${jobs} simulated inspections of good three-spindle machines: ${passed} passed as they came; modelled measuring time median ${at(0.5)} s, 90 % within ${at(0.9)} s`,
  ];
}
