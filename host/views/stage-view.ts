/** What one set of readings showed, ready for any face: measures with uncertainty and verdict, tips, what to turn. */
import type { Decision, Stage } from '../ledger/events';
import type { Judgement, Solution } from '../../protocol/solver';
import type { MachineProfile } from '../machines/profile';
import type { Assessment } from '../procedure/assess';
import type { AssumedValues } from '../procedure/assumed-values';
import { modelledSeconds } from '../procedure/reading-time';
import type { JobState, Setting } from '../procedure/state';
import { checkedText, turningLines, turningView, type TurningView } from './turning-view';
import { faultView, type FaultView } from './fault-view';
import { skirtGapOf, type SkirtGap } from './skirt-gap';
import { swathOf, type Swath } from './swath';
import { WIDTH_WORDS } from './words';

/** `not measured` means that the readings do not say; it never counts as inside. */
export type Verdict = 'inside' | 'outside' | 'cannot tell yet' | 'not measured';

export interface MeasureRow {
  readonly name: string;
  readonly valueMm: number;
  /** Expanded uncertainty, k = 2. */
  readonly expandedMm: number;
  readonly targetMm: number;
  readonly lowerMm: number;
  readonly upperMm: number;
  readonly limitSource: string;
  readonly probabilityInside: number;
  readonly verdict: Verdict;
}

export interface TipRow {
  readonly spindle: string;
  readonly headingDeg: number;
  readonly xMm: number;
  readonly yMm: number;
  /** Mean of the blade's ends above the plane of the wheels. */
  readonly heightMm: number;
  readonly expandedMm: number;
}

export interface StageView {
  readonly stage: Stage;
  readonly decision: Decision;
  readonly jointProbability: number;
  /** A decision that does not survive doubled widths. */
  readonly restsOnAssumedValues: boolean;
  /** Assumed values whose doubling alone changes it; none when only all together do. */
  readonly restsOn: readonly string[];
  /** The readings scatter so many times as much as their widths allow, and every uncertainty is as much larger; left out below 1.05. */
  readonly scatter?: number;
  /** What is wrong besides the adjusters. */
  readonly faults: FaultView;
  /** Measures outside their limits that no turning mends. */
  readonly cannotMend: readonly string[];
  readonly measures: readonly MeasureRow[];
  readonly tips: readonly TipRow[];
  /** Deck plane: height above the ground at the machine's origin, slopes dz/dx and dz/dy. */
  readonly plane: { readonly z0Mm: number; readonly slopeX: number; readonly slopeY: number } | undefined;
  /** The readings disagree with the survey of the bay, which therefore was not used. */
  readonly surveyDisagrees?: boolean;
  /** How a pass would leave the grass, by geometry; undefined when the plane is not determined. */
  readonly swath?: Swath | undefined;
  /** Undefined, besides, when the profile has no outline of the skirt. */
  readonly skirtGap?: SkirtGap | undefined;
  readonly captures: readonly number[];
  /** What the readings should take by the cost model. */
  readonly readingSeconds?: number;
  readonly turned: Setting['turned'];
  /** What was to be turned then, with what was expected of it, as lines. */
  readonly turning?: TurningView;
  readonly turningLines?: readonly string[];
}

export function stageView(state: JobState, setting: Setting, assessment: Assessment): StageView {
  const { solution, result } = assessment;
  return {
    stage: setting.stage,
    decision: result.decision,
    jointProbability: result.jointProbability,
    ...assumedView(result, assessment.assumed()),
    ...scatterView(assessment),
    faults: faultView(
      state.profile,
      assessment.readings.map((r) => ({ target: r.target, number: r.number })),
      assessment.faults(),
    ),
    cannotMend: beyondTurning(state.profile, result),
    measures: measureRows(state.profile, solution, result),
    tips: tipRows(state, assessment),
    plane: solution.pose === 'not determined' ? undefined : solution.pose,
    ...(assessment.surveyDisagrees ? { surveyDisagrees: true } : {}),
    swath: swathOf(state.profile, solution),
    skirtGap: skirtGapOf(state.profile, solution.pose === 'not determined' ? undefined : solution.pose),
    captures: assessment.readings.map((r) => r.number),
    readingSeconds: modelledSeconds(assessment.readings, state.readingCosts),
    turned: setting.turned,
    ...turningOf(state, setting, assessment),
  };
}

function turningOf(
  state: JobState,
  setting: Setting,
  assessment: Assessment,
): Pick<StageView, 'turning' | 'turningLines'> {
  const turning = turningView(state, setting, assessment);
  const checked = checkedText(setting);
  const lines = [
    ...(checked === undefined ? [] : [checked]),
    ...(turning === undefined ? [] : turningLines(state.profile, turning)),
  ];
  return {
    ...(turning === undefined ? {} : { turning }),
    ...(lines.length === 0 ? {} : { turningLines: lines }),
  };
}

/** What of a decision rests on values that were assumed; an undecided result rests on nothing. */
export function assumedView(
  { decision }: Judgement,
  { doubled, decisive }: AssumedValues,
): Pick<StageView, 'restsOnAssumedValues' | 'restsOn'> {
  return {
    restsOnAssumedValues: decision !== 'undecided' && doubled !== decision,
    restsOn: decision === 'undecided' ? [] : decisive.map((name) => WIDTH_WORDS[name]),
  };
}

const SCATTER_WORTH_SAYING = 1.05;

export function scatterView({ scatter }: { readonly scatter: number }): Pick<StageView, 'scatter'> {
  return scatter < SCATTER_WORTH_SAYING ? {} : { scatter };
}

/** A bend that is outside its limits: replacing a part mends it, turning an adjuster does not. */
export function beyondTurning(profile: MachineProfile, result: Judgement): string[] {
  return profile.measures
    .filter((measure, i) => {
      const judged = result.perMeasure[i];
      return measure.what === 'bend' && judged?.determined === true && judged.probability <= 0.02;
    })
    .map((measure) => measure.name);
}

/** One row for each measure that the profile declares, in its order. */
export function measureRows(profile: MachineProfile, solution: Solution, result: Judgement): MeasureRow[] {
  return profile.measures.map((declared, i): MeasureRow => {
    const solved = solution.measures[i];
    const judged = result.perMeasure[i];
    const known = solved?.determined === true ? solved : undefined;
    const probabilityInside = judged?.determined === true ? judged.probability : 0;
    return {
      name: declared.name,
      valueMm: known?.valueMm ?? NaN,
      expandedMm: 2 * (known?.standardUncertaintyMm ?? NaN),
      targetMm: declared.targetMm,
      lowerMm: declared.lowerMm,
      upperMm: declared.upperMm,
      limitSource: declared.source,
      probabilityInside,
      verdict: verdictOf(known !== undefined, probabilityInside),
    };
  });
}

function verdictOf(determined: boolean, probabilityInside: number): Verdict {
  if (!determined) return 'not measured';
  if (probabilityInside >= 0.98) return 'inside';
  return probabilityInside <= 0.02 ? 'outside' : 'cannot tell yet';
}

function tipRows(state: JobState, assessment: Assessment): TipRow[] {
  return assessment.solution.tips.flatMap((tip) => {
    const spindle = state.profile.spindles[tip.spindle];
    if (spindle === undefined) return [];
    const heading = (tip.headingDeg * Math.PI) / 180;
    return {
      spindle: spindle.name,
      headingDeg: tip.headingDeg,
      xMm: spindle.xMm + spindle.tipRadiusMm * Math.cos(heading),
      yMm: spindle.yMm + spindle.tipRadiusMm * Math.sin(heading),
      heightMm: tip.heightMm + (spindle.stackedOn?.aboveMm ?? 0),
      expandedMm: 2 * tip.standardUncertaintyMm,
    };
  });
}
