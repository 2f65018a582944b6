/** The simulated bay of the demo and of campaigns: its points, and a survey of them by the simulated surveyor. */
import type { Bay } from '../bay/bay';
import type { MachineProfile } from '../machines/profile';
import { readStaff, SURVEYING } from '../simulation/floor-survey';
import type { Floor } from '../simulation/floor';
import type { Random } from '../simulation/random';

const GRID_MM = 450;
/** Every point is read from so many set-ups of the level. */
const SET_UPS = 2;

/** A bay for this machine, surveyed on that day. `floor` is what the surveyor found then. */
export function simulatedSurvey(
  profile: MachineProfile,
  floor: Pick<Floor, 'heightMm'>,
  on: string,
  random: Random,
): Bay {
  const points = baySpots(profile);
  return {
    format: 'swathplane-bay/1',
    name: 'simulated bay',
    invented: true,
    points,
    parking: { xMm: 0, yMm: 0, headingDeg: 0, positionSdMm: 20, headingSdDeg: 1 },
    slopeLimitMmPerM: 20,
    twistLimitMm: 3,
    survey: {
      date: on,
      instrument: 'a simulated level',
      expandedUncertaintyMm: 2 * SURVEYING.readingSdMm,
      expiresDays: 180,
      staff: readStaff(floor, points, SET_UPS, random),
      steps: [],
    },
  };
}

/** The four spots of the wheels, and a grid that reaches a little beyond the machine. */
function baySpots(profile: MachineProfile): Bay['points'] {
  const tips = profile.spindles.flatMap((s) =>
    [-1, 1].flatMap((sx) =>
      [-1, 1].map((sy) => ({ xMm: s.xMm + sx * s.tipRadiusMm, yMm: s.yMm + sy * s.tipRadiusMm })),
    ),
  );
  const wheels = profile.wheels.map(({ name, xMm, yMm }) => ({
    name: `${name} wheel`,
    xMm,
    yMm,
    wheel: true,
  }));
  const all = [...tips, ...wheels];
  const range = (of: (p: { xMm: number; yMm: number }) => number) => {
    const low = Math.min(...all.map(of)) - 100;
    const high = Math.max(...all.map(of)) + 100;
    const steps = Math.max(2, Math.ceil((high - low) / GRID_MM));
    return Array.from({ length: steps + 1 }, (_, i) => Math.round(low + (i * (high - low)) / steps));
  };
  const grid = range((p) => p.xMm).flatMap((xMm) =>
    range((p) => p.yMm).map((yMm) => ({ name: `grid ${xMm} ${yMm}`, xMm, yMm })),
  );
  const free = grid.filter((g) =>
    wheels.every((w) => Math.abs(w.xMm - g.xMm) + Math.abs(w.yMm - g.yMm) > 20),
  );
  return [...wheels, ...free];
}
