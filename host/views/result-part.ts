/** What one set of readings showed, in the words that every face uses: for a screen that only lays it out. */
import type { Decision } from '../ledger/events';
import { cannotMendText, faultLines } from './fault-view';
import type { SkirtGap } from './skirt-gap';
import type { StageView, Verdict } from './stage-view';
import type { Swath } from './swath';
import { atLeast, limitsText, measuredText, RESULT_WORDS, scatterText, STAGE_TITLES } from './words';

export interface ResultPart {
  /** "As it came" */
  readonly title: string;
  readonly decision: Decision;
  readonly word: string;
  readonly probability: number;
  /** "at least 97.9 %" */
  readonly probabilityText: string;
  readonly rows: readonly {
    readonly name: string;
    readonly measured: string;
    readonly limits: string;
    readonly verdict: Verdict;
  }[];
  /** What besides it rests on, what is at fault, what cannot be mended: one sentence each. */
  readonly remarks: readonly string[];
  /** What is to be turned, and what is expected of it. */
  readonly turning: readonly string[];
  readonly swath: Swath | null;
  readonly skirtGap: SkirtGap | null;
}

export function resultPart(view: StageView): ResultPart {
  const assumed = view.restsOn.length === 0 ? '' : `: ${view.restsOn.join(', ')}`;
  return {
    title: STAGE_TITLES[view.stage],
    decision: view.decision,
    word: RESULT_WORDS[view.decision],
    probability: view.jointProbability,
    probabilityText: atLeast(view.jointProbability),
    rows: view.measures.map((row) => ({
      name: row.name,
      measured: measuredText(row),
      limits: limitsText(row),
      verdict: row.verdict,
    })),
    remarks: [
      ...(view.restsOnAssumedValues ? [`rests on assumed values${assumed}`] : []),
      ...(view.scatter === undefined ? [] : [scatterText(view.scatter)]),
      ...(view.surveyDisagrees === true
        ? ['the readings disagree with the survey of the bay, which was not used']
        : []),
      ...view.cannotMend.map((name) => cannotMendText(name)),
      ...faultLines(view.faults).map((line) => line.trim()),
      ...(view.decision === 'pass' ? [] : view.faults.hidden),
    ],
    turning: view.turningLines ?? [],
    swath: view.swath ?? null,
    skirtGap: view.skirtGap ?? null,
  };
}
