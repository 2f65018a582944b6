/**
 * How twisted the floor is under the four wheels of one machine. A rigid frame then stands on three of them, and rocks:
 * which three, nobody knows, so heights that count from its wheels count from an unsure plane.
 */
import { floorSums } from '../../protocol/solver';
import { ASSUMED_WIDTHS } from '../gauging/widths';
import { floorOfJob, type BayOfJob } from './known-floor';
import { shimsFor, twistWeights } from './wheel-plane';

export interface WheelTwist {
  /** Height of one wheel spot above the plane of the other three, with its standard uncertainty. */
  readonly twistMm: number;
  readonly standardUncertaintyMm: number;
  /** The bay's own limit; its source is the shop. */
  readonly limitMm: number;
  /** Under one wheel each, the thinnest first: any one of them nulls the twist. */
  readonly shims: readonly { readonly wheel: string; readonly heightMm: number }[];
}

interface Machine {
  readonly groundPlane: string;
  readonly wheels: readonly { readonly name: string; readonly xMm: number; readonly yMm: number }[];
}

/** Undefined for machines whose wheels follow the floor, and where nothing is known of it. Where the machine is parked counts as exact. */
export function wheelTwist(of: BayOfJob, { groundPlane, wheels }: Machine): WheelTwist | undefined {
  if (groundPlane !== 'rigid four wheels') return undefined;
  const floor = floorOfJob(of);
  const weights = twistWeights(wheels);
  if (floor === undefined || weights === undefined) return undefined;
  const { xMm, yMm, headingDeg } = of.bay.parking;
  const [cos, sin] = [Math.cos((headingDeg * Math.PI) / 180), Math.sin((headingDeg * Math.PI) / 180)];
  const places = wheels.map((w, i) => ({
    xMm: xMm + cos * w.xMm - sin * w.yMm,
    yMm: yMm + sin * w.xMm + cos * w.yMm,
    weight: weights[i] ?? 0,
  }));
  const { floorMm, floorLengthMm } = ASSUMED_WIDTHS;
  const told = floorSums(floor, [places], floorMm.value, floorLengthMm.value);
  if (told === undefined) return undefined;
  const { twistMm, shims } = shimsFor(wheels, weights, told.meanMm[0] ?? 0);
  const smallest = Math.min(...weights.map(Math.abs));
  return {
    twistMm,
    standardUncertaintyMm: Math.sqrt(told.covariance[0]?.[0] ?? 0) / smallest,
    limitMm: of.bay.twistLimitMm,
    // Shims are cut to a tenth.
    shims: shims.map(({ spot, heightMm }) => ({ wheel: spot, heightMm: Math.round(10 * heightMm) / 10 })),
  };
}

/** One sentence for the record. */
export function twistText({ twistMm, standardUncertaintyMm, limitMm }: WheelTwist): string {
  return `The floor under the four wheels is twisted by ${twistMm.toFixed(1)} ± ${(2 * standardUncertaintyMm).toFixed(1)} mm, shop limit ${limitMm} mm.`;
}
