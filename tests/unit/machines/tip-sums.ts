import type { MachineProfile } from '../../../host/machines/profile';

/** Of a measure's tips: sum of the weights, and of weight times place forward and to the left. By plane trigonometry. */
export function tipSums(profile: MachineProfile, measure: string): [number, number, number] {
  const found = profile.measures.find((m) => m.name === measure);
  if (found?.what !== 'tips') throw new Error(`no measure ${measure}`);
  const sums: [number, number, number] = [0, 0, 0];
  for (const { spindle, headingDeg, weight } of found.terms) {
    const s = profile.spindles.find(({ name }) => name === spindle);
    if (s === undefined) throw new Error(`no spindle ${spindle}`);
    const heading = (headingDeg * Math.PI) / 180;
    sums[0] += weight;
    sums[1] += weight * (s.xMm + s.tipRadiusMm * Math.cos(heading));
    sums[2] += weight * (s.yMm + s.tipRadiusMm * Math.sin(heading));
  }
  return sums;
}
