/** A stage, a turn, a job as lines of text for a terminal of 100 columns. */
import type { StageView } from '../views/stage-view';
import { atLeast, headingText, limitsText, measuredText, RESULT_WORDS, scatterText } from '../views/words';
import { cannotMendText, faultLines } from '../views/fault-view';

type Shown = Pick<
  StageView,
  | 'decision'
  | 'jointProbability'
  | 'restsOnAssumedValues'
  | 'restsOn'
  | 'scatter'
  | 'measures'
  | 'faults'
  | 'cannotMend'
  | 'turningLines'
>;

export function stageText(title: string, view: Shown): string[] {
  const rows = view.measures.map((m) => [m.name, measuredText(m), limitsText(m), m.verdict]);
  const widths = view.restsOn.length === 0 ? '' : `: ${view.restsOn.join(', ')}`;
  const assumed = view.restsOnAssumedValues ? ` (rests on assumed values${widths})` : '';
  return [
    `${title}: ${RESULT_WORDS[view.decision].toUpperCase()}${assumed}; all limits kept with a probability of ${atLeast(view.jointProbability)}`,
    ...columns([['measure', 'value ± U (k = 2)', 'limits', ''], ...rows]).map((line) => `  ${line}`),
    ...(view.scatter === undefined ? [] : [`  ${scatterText(view.scatter)}`]),
    ...view.cannotMend.map((name) => `  ${cannotMendText(name)}`),
    ...faultLines(view.faults).map((line) => `  ${line}`),
    ...(view.turningLines ?? []).map((line) => `  ${line}`),
    ...(view.decision === 'pass' ? [] : view.faults.hidden.map((line) => `  ${line}`)),
  ];
}

export function tipsText(view: StageView): string[] {
  const rows = view.tips.map((t) => [
    `${t.spindle} blade, ${headingText(t.headingDeg)}`,
    `${t.heightMm.toFixed(1)} ± ${t.expandedMm.toFixed(1)} mm`,
  ]);
  return columns([['tip', "height above the wheels' ground"], ...rows]).map((line) => `  ${line}`);
}

/** Left-aligned columns, two spaces apart. */
export function columns(rows: readonly (readonly string[])[]): string[] {
  const widths = (rows[0] ?? []).map((_, i) => Math.max(...rows.map((r) => (r[i] ?? '').length)));
  return rows.map((r) =>
    r
      .map((cell, i) => cell.padEnd(widths[i] ?? 0))
      .join('  ')
      .trimEnd(),
  );
}
