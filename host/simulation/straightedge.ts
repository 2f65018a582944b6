/** A straightedge of 2 m on two equal blocks, laid where the machine stands: how uneven the floor is under it. */
import type { MachineProfile } from '../machines/profile';
import type { Floor } from './floor';
import { inBay, type Parked } from './standing';

const LENGTH_MM = 2000;
/** The wedge is pushed in this often along it. */
const PLACES = 21;

/** Widest gap less narrowest, worst of three lines: along both wheel tracks, and across under the deck. */
export function unevennessMm({ wheels, spindles }: MachineProfile, floor: Floor, parked: Parked): number {
  const xs = wheels.map((w) => w.xMm);
  const middleX = (Math.min(...xs) + Math.max(...xs)) / 2;
  const deckX = spindles.reduce((sum, s) => sum + s.xMm, 0) / spindles.length;
  const tracks = [Math.min(...wheels.map((w) => w.yMm)), Math.max(...wheels.map((w) => w.yMm))];
  const heightMm = (xMm: number, yMm: number) => {
    const spot = inBay(parked, xMm, yMm);
    return floor.heightMm(spot.xMm, spot.yMm);
  };
  return Math.max(
    ...tracks.map((yMm) => rangeMm((alongMm) => heightMm(middleX + alongMm, yMm))),
    rangeMm((alongMm) => heightMm(deckX, alongMm)),
  );
}

/** Of the floor about the line between the two blocks. */
function rangeMm(heightMm: (alongMm: number) => number): number {
  const from = heightMm(-LENGTH_MM / 2);
  const until = heightMm(LENGTH_MM / 2);
  const gaps = Array.from({ length: PLACES }, (_, i) => {
    const share = i / (PLACES - 1);
    return from + share * (until - from) - heightMm((share - 0.5) * LENGTH_MM);
  });
  return Math.max(...gaps) - Math.min(...gaps);
}
