/** What is known of a bay's floor, until when, and what to do about it: for the page. */
import { expiryOf } from '../bay/expiry';
import { bayLine, type BayLine, type BayOfJob } from '../bay/known-floor';
import { surveyResult } from '../bay/survey';

export interface BayState {
  readonly name: string;
  readonly invented: boolean;
  readonly state: BayLine['state'];
  readonly sentences: readonly string[];
  readonly surveyDate: string | null;
  readonly expires: string | null;
  readonly instrument: string | null;
  readonly turnedRoundOn: string | null;
  /** Of the wheel spots, in mm to a metre, with the limit that the bay's file states; null without a survey. */
  readonly slope: {
    readonly alongMmPerM: number;
    readonly leftMmPerM: number;
    readonly limitMmPerM: number;
    readonly twistMm: number;
    readonly twistLimitMm: number;
  } | null;
  /** Heights against the first point. */
  readonly points: readonly {
    readonly name: string;
    readonly xMm: number;
    readonly yMm: number;
    readonly isWheel: boolean;
    readonly heightMm: number | null;
    readonly expandedMm: number | null;
  }[];
  readonly next: string;
}

export function bayState(of: BayOfJob): BayState {
  const { bay } = of;
  const line = bayLine(of, false);
  const result = surveyResult(bay);
  const wheels = result?.wheels;
  return {
    name: line.name,
    invented: line.invented,
    state: line.state,
    sentences: line.sentences,
    surveyDate: line.surveyDate ?? null,
    expires: bay.survey === undefined ? null : expiryOf(bay.survey),
    instrument: line.instrument ?? null,
    turnedRoundOn: line.turnedRoundOn ?? null,
    slope:
      wheels === undefined
        ? null
        : {
            alongMmPerM: wheels.slopeX,
            leftMmPerM: wheels.slopeY,
            limitMmPerM: bay.slopeLimitMmPerM,
            twistMm: wheels.twistMm,
            twistLimitMm: bay.twistLimitMm,
          },
    points: bay.points.map(({ name, xMm, yMm, wheel }, i) => {
      const height = result?.adjustment.heights[i];
      const isKnown = height?.determined === true;
      return {
        name,
        xMm,
        yMm,
        isWheel: wheel === true,
        heightMm: isKnown ? height.heightMm : null,
        expandedMm: isKnown ? 2 * height.standardUncertaintyMm : null,
      };
    }),
    next: NEXT[line.state],
  };
}

const NEXT: Record<BayLine['state'], string> = {
  surveyed: 'Nothing to do: jobs on this bay count with the survey.',
  expired:
    'Survey the floor again, or turn one machine round on it: until then its unevenness counts as assumed.',
  'not usable': 'Repeat the readings that do not close: until then the survey is not used.',
  disagrees: 'Survey the floor anew: what was read on it does not fit the survey.',
  'not surveyed': 'Survey the floor: results become tighter, and a floor out of level is seen.',
};
