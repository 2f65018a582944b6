/** A survey of a simulated floor: a staff on the wheel spots and on a grid under the deck, from two set-ups. Invented. */
import type { Bay } from '../../host/bay/bay';
import type { BayOfJob } from '../../host/bay/known-floor';
import type { MachineProfile } from '../../host/machines/profile';
import type { Floor } from '../../host/simulation/floor';
import { seededRandom } from '../../host/simulation/random';
import type { Survey } from './population';

/** Spots of the grid under the deck are no farther apart than this. */
const GRID_MM = 500;
const SET_UPS = [0, 1];
/** Height of the instrument over the origin of the bay, for each set-up. */
const SIGHT_MM = [1400, 1450];

export function surveyedBay(profile: MachineProfile, floor: Floor, survey: Survey, seed: number): BayOfJob {
  const random = seededRandom(seed).split('survey');
  const points = surveyPoints(profile);
  const staff = SET_UPS.flatMap((setUp) =>
    points.map(({ name, xMm, yMm }) => ({
      setUp,
      point: name,
      readingMm: (SIGHT_MM[setUp] ?? 0) - floor.heightMm(xMm, yMm) + random.normal(survey.trueSdMm),
    })),
  );
  const bay: Bay = {
    format: 'swathplane-bay/1',
    name: 'campaign bay',
    invented: true,
    points,
    parking: { xMm: 0, yMm: 0, headingDeg: 0, positionSdMm: 20, headingSdDeg: 1 },
    slopeLimitMmPerM: 20,
    twistLimitMm: 3,
    survey: {
      date: '2026-11-02',
      instrument: 'invented level',
      expandedUncertaintyMm: 2 * survey.statedSdMm,
      expiresDays: 180,
      staff,
      steps: [],
    },
  };
  return { bay, on: '2026-11-25', turnRounds: [] };
}

function surveyPoints({ wheels, spindles }: MachineProfile): Bay['points'] {
  const alongX = lines(spindles.map((s) => ({ at: s.xMm, reach: s.tipRadiusMm })));
  const alongY = lines(spindles.map((s) => ({ at: s.yMm, reach: s.tipRadiusMm })));
  return [
    ...wheels.map((w) => ({ name: `wheel ${w.name}`, xMm: w.xMm, yMm: w.yMm, wheel: true })),
    ...alongX.flatMap((xMm, i) => alongY.map((yMm, j) => ({ name: `grid ${i + 1}.${j + 1}`, xMm, yMm }))),
  ];
}

function lines(reaches: readonly { readonly at: number; readonly reach: number }[]): number[] {
  const low = Math.min(...reaches.map((r) => r.at - r.reach));
  const high = Math.max(...reaches.map((r) => r.at + r.reach));
  const gaps = Math.ceil((high - low) / GRID_MM);
  return Array.from({ length: gaps + 1 }, (_, i) => Math.round(low + ((high - low) * i) / gaps));
}
