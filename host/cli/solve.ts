import { z } from 'zod';
import {
  explainFaults,
  judge,
  solveTips,
  turnInSteps,
  varianceFactor,
  type Widths,
} from '../../protocol/solver';
import { ASSUMED_FLOOR_DEGREES_OF_FREEDOM } from '../bay/straightedge';
import { numberedError } from '../errors/errors';
import { readJson } from '../errors/json-fault';
import { ASSUMED_WIDTHS, widthValues, type WidthName } from '../gauging/widths';
import { loadProfile, parseProfile } from '../machines/load';
import type { MachineProfile } from '../machines/profile';
import { hangingOf, layoutOf, measureQuestions, stackHeightMm } from '../procedure/assess';
import { forResult } from '../procedure/for-result';
import { assumedValues, assumedWidths } from '../procedure/assumed-values';
import { stageText, columns } from '../terminal/stage-text';
import { faultView } from '../views/fault-view';
import { skirtGapOf } from '../views/skirt-gap';
import { assumedView, beyondTurning, measureRows, scatterView } from '../views/stage-view';
import { swathOf } from '../views/swath';
import { headingText, turnText } from '../views/words';
import { print, printJson, readIn } from './output';

/** Height that the gain of a fixture counts from: the middle of the height master's edges for the low head. */
const REFERENCE_MM = 60;

const widthNames = Object.keys(ASSUMED_WIDTHS) as [WidthName, ...WidthName[]];

const fileSchema = z.strictObject({
  machine: z.union([z.string(), z.looseObject({ format: z.string() })]),
  readings: z
    .array(
      z.strictObject({
        spindle: z.string(),
        headingDeg: z.number().min(-360).max(360),
        end: z.enum(['A', 'B']),
        seating: z.int().min(1),
        placement: z.int().min(1),
        heightMm: z.number().min(-1000).max(1000),
        standardErrorMm: z.number().gt(0).max(100),
        /** The blade had been refitted half a turn round on its spindle. */
        refitted: z.boolean().optional(),
      }),
    )
    .min(1),
  carrying: z.array(z.string()).optional(),
  widths: z.partialRecord(z.enum(widthNames), z.number().gt(0)).optional(),
});

export interface SolveOptions {
  readonly json?: boolean;
}

/** Exit codes as for a job: 0 pass, 1 fail, 2 can't tell yet. Errors: 301-305, 351, 352, 405. */
export function solve(file: string, options: SolveOptions): Promise<number> {
  const { profile, readings, shown, widths, given, carrying } = parse(readIn(file), file);
  const questions = measureQuestions(profile);
  const layout = layoutOf(profile);
  const solve = (by: Widths) =>
    forResult(
      solveTips(layout, readings, by, questions),
      readings,
      by,
      questions,
      ASSUMED_FLOOR_DEGREES_OF_FREEDOM,
    );
  const solution = solve(widths);
  if (solution.pose === 'not determined')
    throw numberedError('plane not determined', `${readings.length} readings in ${file}`);
  const result = judge(solution, questions);
  const decide = (others: Widths) => judge(solve(others), questions);
  const assumed = assumedWidths().filter((name) => given[name] === undefined);
  const explained = explainFaults(layout, readings, widths, questions, solution);
  const besides = {
    ...assumedView(result, assumedValues(widths, assumed, decide)),
    ...scatterView({ scatter: Math.sqrt(varianceFactor(solution)) }),
    faults: faultView(profile, shown, explained),
    cannotMend: beyondTurning(profile, result),
  };
  const turning = turnInSteps(
    solution,
    hangingOf(profile),
    questions,
    carrying,
    profile.adjusters.map((a) => a.stepTurns),
  );
  if (options.json === true) {
    printJson({
      machine: profile.model,
      result,
      measures: solution.measures,
      plane: solution.pose,
      tips: solution.tips,
      residuals: solution.residuals,
      swath: swathOf(profile, solution),
      skirtGap: skirtGapOf(profile, solution.pose),
      ...besides,
      turning,
    });
  } else {
    const rows = measureRows(profile, solution, result);
    print(
      ...stageText(profile.model, {
        decision: result.decision,
        jointProbability: result.jointProbability,
        ...besides,
        measures: rows,
      }),
      ...columns(
        solution.tips.map((t) => [
          `  ${profile.spindles[t.spindle]?.name ?? ''} blade, ${headingText(t.headingDeg)}`,
          `${t.heightMm.toFixed(2)} ± ${(2 * t.standardUncertaintyMm).toFixed(2)} mm`,
        ]),
      ),
      ...profile.adjusters.flatMap((a, i) => {
        const turns = turning?.turns[i] ?? 0;
        return turns === 0 ? [] : [`  ${turnText(a, turns, turning?.raiseMm[i] ?? 0)}`];
      }),
    );
  }
  return Promise.resolve({ pass: 0, fail: 1, undecided: 2 }[result.decision]);
}

function parse(text: string, file: string) {
  const data = readJson(text, file, 'readings unreadable');
  const checked = fileSchema.safeParse(data);
  if (!checked.success) {
    const faults = checked.error.issues.map(
      (i) => `${i.path.map(String).join('.') || 'the file'}: ${i.message}`,
    );
    throw numberedError('readings unreadable', `${file}: ${faults.join('; ')}`);
  }
  const { machine, readings, carrying, widths } = checked.data;
  const profile: MachineProfile =
    typeof machine === 'string' ? loadProfile(machine) : parseProfile(JSON.stringify(machine), file);
  const spindle = (name: string, i: number) => {
    const index = profile.spindles.findIndex((s) => s.name === name);
    if (index < 0)
      throw numberedError(
        'readings unreadable',
        `${file}: readings.${i}.spindle: ${profile.model} has no spindle '${name}'`,
      );
    return index;
  };
  for (const name of carrying ?? []) {
    if (!profile.hangers.some((h) => h.name === name)) {
      throw numberedError(
        'readings unreadable',
        `${file}: carrying: ${profile.model} has no hanger '${name}'`,
      );
    }
  }
  return {
    profile,
    readings: readings.map((r, i) => ({
      ...r,
      spindle: spindle(r.spindle, i),
      heightMm: r.heightMm - stackHeightMm(profile, r.spindle),
      end: r.end === 'A' ? (1 as const) : (-1 as const),
      refitted: r.refitted === true,
    })),
    shown: readings.map((r, i) => ({ number: i + 1, target: { ...r, kind: 'tip' as const } })),
    given: widths ?? {},
    carrying: profile.hangers.map((h) => carrying === undefined || carrying.includes(h.name)),
    widths: { ...widthValues(REFERENCE_MM), ...widths },
  };
}
