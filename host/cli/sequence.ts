import { fullSequence, planSequence, type ReadingSequence, type ReadingTask } from '../../protocol/solver';
import type { ReadingCosts } from '../ledger/events';
import { loadProfile } from '../machines/load';
import type { MachineProfile } from '../machines/profile';
import { layoutOf } from '../procedure/assess';
import { readingTask } from '../procedure/reading-task';
import { columns } from '../terminal/stage-text';
import { durationText, targetText } from '../views/words';
import { print, printJson } from './output';

export interface SequenceOptions {
  readonly machine: string;
  readonly full?: boolean;
  /** Left out of the question: how long level, rake and height alone take. */
  readonly bend: boolean;
  /** Standard deviation of the floor; left out: that of an unsurveyed bay. */
  readonly floor?: number;
  readonly seconds?: ReadingCosts;
  readonly json?: boolean;
}

/** Which tips a job on this machine reads, in order, what that takes, and how surely it decides. Errors: 301-305. */
export function sequence(options: SequenceOptions): Promise<number> {
  const profile = loadProfile(options.machine);
  const task = taskOf(profile, options);
  const found = options.full === true ? fullSequence(task) : planSequence(task);
  const names = task.questions.map((q) => q.name);
  if (options.json === true) {
    printJson({ machine: profile.model, measures: names, ...found });
    return Promise.resolve(0);
  }
  print(
    `${profile.model}: ${found.steps.length} readings, about ${durationText(found.seconds)}`,
    ...columns(
      found.steps.map((step, i) => [
        `  ${i + 1}`,
        step.reclamp ? 'clamp' : 'turn',
        targetText({
          kind: 'tip',
          spindle: profile.spindles[step.spindle]?.name ?? '',
          headingDeg: step.headingDeg,
          end: step.end === 1 ? 'A' : 'B',
        }),
        `${step.seconds} s`,
      ]),
    ),
    'Expected U (k = 2) of each measure:',
    ...columns(names.map((name, i) => [`  ${name}`, expandedText(found, i)])),
    ...decidesText(found, task),
    ...(task.questions.some((q) => q.what === 'bend') ? [] : withoutBendText(task)),
  );
  return Promise.resolve(0);
}

function taskOf(profile: MachineProfile, options: SequenceOptions): ReadingTask {
  const costs = options.seconds === undefined ? {} : { readingCosts: options.seconds };
  const task = readingTask({ profile, ...costs }, layoutOf(profile));
  const floorMm = options.floor ?? task.widths.floorMm;
  return {
    ...task,
    widths: { ...task.widths, floorMm },
    questions: options.bend ? task.questions : task.questions.filter((q) => q.what === 'tips'),
  };
}

function expandedText({ expectedMm }: ReadingSequence, measure: number): string {
  const u = expectedMm[measure] ?? -1;
  return u < 0 ? 'not determined' : `± ${(2 * u).toFixed(2)} mm`;
}

/** Rounded down, so that it never rounds up to what is wanted. */
function percent(share: number): string {
  return `${(Math.floor(share * 1000) / 10).toFixed(1)} %`;
}

function decidesText(found: ReadingSequence, task: ReadingTask): string[] {
  const chance = `A machine exactly on target is accepted with a probability of ${percent(found.acceptsCentred)}`;
  if (found.decides) return [`${chance}: the sequence decides.`];
  const surveyed = planSequence({ ...task, widths: { ...task.widths, floorMm: SURVEYED_FLOOR_MM } });
  return [
    `${chance}: one seating on this floor does not decide.`,
    `On a floor surveyed to ${SURVEYED_FLOOR_MM} mm: ${percent(surveyed.acceptsCentred)}. Otherwise the deck has to be seated again and read.`,
  ];
}

/** Half the difference of a new blade's ends, standard deviation; assumed. */
const NEW_BLADES_MM = 0.5;

/** The unread end of a blade is the largest error where bend is not read, so new blades are read sooner than used ones. */
function withoutBendText(task: ReadingTask): string[] {
  const { bendMm } = task.widths;
  const fresh = planSequence({ ...task, widths: { ...task.widths, bendMm: NEW_BLADES_MM } });
  return [
    `Bend not measured: half the difference of a used blade's ends counts with ${bendMm} mm (sd).`,
    `With new blades (${NEW_BLADES_MM} mm): ${fresh.steps.length} readings, about ${durationText(fresh.seconds)}, accepted with ${percent(fresh.acceptsCentred)}.`,
  ];
}

/** What a survey leaves of the floor; assumed. */
const SURVEYED_FLOOR_MM = 0.3;
