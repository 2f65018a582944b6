/** The readings of a study as a balanced table, or why they are none. */
import { numberedError } from '../../errors/errors';
import { grouped } from '../statistics/spread';

export interface StudyReading {
  readonly part: string;
  readonly operator: string;
  readonly trial: string;
  readonly value: number;
}

export interface StudyTable {
  /** Crossed: every operator measures every part. Nested: every operator has parts of their own. */
  readonly design: 'crossed' | 'nested';
  /** Names in the order in which they first come; nested: of the parts of each operator, one after the other. */
  readonly parts: readonly string[];
  readonly operators: readonly string[];
  readonly trials: number;
  /** Values by part (nested: place within the operator's parts), operator and trial. */
  readonly values: readonly (readonly (readonly number[])[])[];
}

/**
 * Sorts the readings into a table. `nested` says that parts of one name are different things for different operators; parts
 * that no two operators share show that by themselves. Throws 470 (a trial twice), 472 and 473.
 */
export function studyTable(readings: readonly StudyReading[], nested = false): StudyTable {
  refuseTwice(readings);
  refuseAlike(readings.map((r) => r.part));
  refuseAlike(readings.map((r) => r.operator));
  const operators = [...grouped(readings, (r) => r.operator).keys()];
  const partsOf = operators.map((operator) => [
    ...grouped(
      readings.filter((r) => r.operator === operator),
      (r) => r.part,
    ).keys(),
  ]);
  const shared = new Set(partsOf.flat()).size < partsOf.flat().length;
  return operators.length > 1 && (nested || !shared)
    ? nestedTable(readings, operators, partsOf)
    : crossedTable(readings, operators);
}

function crossedTable(readings: readonly StudyReading[], operators: readonly string[]): StudyTable {
  const parts = [...grouped(readings, (r) => r.part).keys()];
  const cells = grouped(readings, (r) => key(r.part, r.operator));
  const trials = mostFrequent([...cells.values()].map((c) => c.length));
  const missing = parts.flatMap((part) =>
    operators.flatMap((operator) => {
      const count = cells.get(key(part, operator))?.length ?? 0;
      return count === trials ? [] : [`part ${part}, operator ${operator}: ${count} of ${trials}`];
    }),
  );
  refuseUnbalanced(missing);
  if (parts.length < 2) throw numberedError('study too small', 'one part; at least two are wanted');
  const values = parts.map((part) =>
    operators.map((operator) => (cells.get(key(part, operator)) ?? []).map((r) => r.value)),
  );
  return sized({ design: 'crossed', parts, operators, trials, values });
}

function nestedTable(
  readings: readonly StudyReading[],
  operators: readonly string[],
  partsOf: readonly (readonly string[])[],
): StudyTable {
  const cells = grouped(readings, (r) => key(r.part, r.operator));
  const trials = mostFrequent([...cells.values()].map((c) => c.length));
  const most = mostFrequent(partsOf.map((p) => p.length));
  const missing = operators.flatMap((operator, o) => [
    ...(partsOf[o].length === most ? [] : [`operator ${operator}: ${partsOf[o].length} parts of ${most}`]),
    ...partsOf[o].flatMap((part) => {
      const count = cells.get(key(part, operator))?.length ?? 0;
      return count === trials ? [] : [`part ${part}, operator ${operator}: ${count} of ${trials}`];
    }),
  ]);
  refuseUnbalanced(missing);
  if (most < 2) throw numberedError('study too small', 'one part for each operator; at least two are wanted');
  const values = Array.from({ length: most }, (_, p) =>
    operators.map((operator, o) => (cells.get(key(partsOf[o][p], operator)) ?? []).map((r) => r.value)),
  );
  return sized({ design: 'nested', parts: partsOf.flat(), operators, trials, values });
}

function sized(table: StudyTable): StudyTable {
  if (table.trials < 2 && (table.operators.length < 2 || table.design === 'nested'))
    throw numberedError('study too small', 'one trial; at least two are wanted to see how readings repeat');
  return table;
}

function refuseTwice(readings: readonly StudyReading[]): void {
  const cells = grouped(readings, (r) => JSON.stringify([r.part, r.operator, r.trial]));
  const twice = [...cells.values()].find((c) => c.length > 1)?.[0];
  if (twice !== undefined)
    throw numberedError(
      'study unreadable',
      `part ${twice.part}, operator ${twice.operator}, trial ${twice.trial} is there twice`,
    );
}

/** Two names that differ in capitals or blanks only are most likely one. */
function refuseAlike(names: readonly string[]): void {
  const seen = new Map<string, string>();
  for (const name of new Set(names)) {
    const plain = name.toLowerCase().replaceAll(/\s+/g, ' ').trim();
    const before = seen.get(plain);
    if (before !== undefined)
      throw numberedError(
        'study unreadable',
        `'${before}' and '${name}' differ in capitals or blanks only; write one name one way`,
      );
    seen.set(plain, name);
  }
}

function refuseUnbalanced(missing: readonly string[]): void {
  if (missing.length === 0) return;
  const more = missing.length > MOST_NAMED ? `; and ${missing.length - MOST_NAMED} more` : '';
  throw numberedError('study not balanced', `${missing.slice(0, MOST_NAMED).join('; ')}${more}`);
}

const MOST_NAMED = 6;
const key = (part: string, operator: string) => JSON.stringify([part, operator]);

function mostFrequent(counts: readonly number[]): number {
  const found = grouped(counts, (c) => `${c}`);
  const [best] = [...found.values()].sort((a, b) => b.length - a.length || b[0] - a[0]);
  return best?.[0] ?? 0;
}
