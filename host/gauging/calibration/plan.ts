/** The steps of a calibration: a ladder of known heights for each head position, then the master turned on its shelf. */
import type { Body } from '../../../protocol/wire/messages';
import { numberedError } from '../../errors/errors';
import type { GaugingTarget } from '../events';
import type { HeightMaster } from '../height-master';

export type EdgeStep = Extract<GaugingTarget, { kind: 'edge' }>;

/** Distances of the 65 to 135 mm class of laser that are asked for: a little inside its span. */
const NEAREST_MM = 65.5;
const FARTHEST_MM = 134.5;
/** The ladder of both heads together reaches at least so near to either end. */
const REACHED_WITHIN_MM = 3;
/** Nowhere in between are two known heights farther apart. */
const WIDEST_GAP_MM = 10;
/** Rungs of a ladder are at least so far apart, and not more than so many. */
const LEAST_STEP_MM = 2.9;
const MOST_RUNGS = 16;
const TURNS = [90, 180, 270] as const;
/** Of a ladder every third rung is read again at another temperature. */
const RUNGS_SKIPPED = 3;

/**
 * Every edge with every single gauge block gives a height; those within reach make the ladder. It is climbed up and down
 * again, seated anew each time, so that creep and slack of the seat show as spread and not as slope. `elsewhere` adds rungs
 * at another temperature. Throws 480 when edges and blocks leave a part of the laser's span without a known height.
 */
export function calibrationSteps(
  master: HeightMaster,
  blocksMm: readonly number[],
  calibrations: readonly Body<'calibration'>[],
  elsewhere = false,
): EdgeStep[] {
  const edgesMm = [...new Set(master.edges.flatMap((e) => [e.lowMm, e.highMm]))];
  const ladders = ([0, 1] as const).flatMap((head) => {
    const edgeZ = calibrations.find((c) => c.headPosition === head)?.edgeZ;
    if (edgeZ === undefined) return [];
    const steps = edgesMm.flatMap((edgeMm) =>
      [0, ...blocksMm].map((blockMm): EdgeStep => ({ kind: 'edge', head, edgeMm, blockMm, turnDeg: 0 })),
    );
    const distance = (s: EdgeStep) => s.edgeMm - s.blockMm - edgeZ / 1000;
    const within = steps.filter((s) => distance(s) >= NEAREST_MM && distance(s) <= FARTHEST_MM);
    const rungs = spread(within, distance);
    return [...rungs, ...[...rungs].reverse()];
  });
  refuseShort(ladders, calibrations);
  const first = ladders.find((s) => s.blockMm === 0);
  const again = ladders.filter((_, i) => i % RUNGS_SKIPPED === 0);
  return [
    ...ladders,
    ...(first === undefined ? [] : [...turnedRound(first), ...turnedRound(first)]),
    ...(elsewhere ? again.map((step): EdgeStep => ({ ...step, elsewhere: true })) : []),
  ];
}

function refuseShort(ladders: readonly EdgeStep[], calibrations: readonly Body<'calibration'>[]): void {
  const edgeZ = (head: number) => calibrations.find((c) => c.headPosition === head)?.edgeZ ?? 0;
  const reached = ladders.map((s) => s.edgeMm - s.blockMm - edgeZ(s.head) / 1000).sort((a, b) => a - b);
  const all = [NEAREST_MM, ...reached, FARTHEST_MM];
  const gap = all.findIndex((d, i) => i > 0 && d - all[i - 1] > WIDEST_GAP_MM);
  const low = all[1] - all[0] > REACHED_WITHIN_MM;
  const high = all[all.length - 1] - all[all.length - 2] > REACHED_WITHIN_MM;
  if (gap < 0 && !low && !high) return;
  const from = gap < 0 ? (low ? all[0] : all[all.length - 2]) : all[gap - 1];
  const to = gap < 0 ? (low ? all[1] : all[all.length - 1]) : all[gap];
  throw numberedError(
    'calibration not good enough',
    `edges and gauge blocks give no known height for distances from ${from.toFixed(0)} to ${to.toFixed(0)} mm; enter more blocks, such as 5, 15, 25, 32, 35, 45, 55 and 58 mm`,
  );
}

/** Seated once and turned with the master, so that only the shelf's slope turns. */
function turnedRound(step: EdgeStep): EdgeStep[] {
  return [step, ...TURNS.map((turnDeg): EdgeStep => ({ ...step, turnDeg, sameSeat: true }))];
}

/** Rungs at least a step apart from the nearest to the farthest; of heights that are alike the one without a block. */
function spread(steps: readonly EdgeStep[], distance: (s: EdgeStep) => number): EdgeStep[] {
  const sorted = [...steps].sort((a, b) => distance(a) - distance(b) || a.blockMm - b.blockMm);
  const low = sorted[0];
  const high = sorted.at(-1);
  if (low === undefined || high === undefined) return [];
  const apart = Math.max(LEAST_STEP_MM, (distance(high) - distance(low)) / (MOST_RUNGS - 1) - 0.5);
  const rungs: EdgeStep[] = [];
  for (const step of sorted) {
    const before = rungs.at(-1);
    if (before === undefined || distance(step) - distance(before) >= apart) rungs.push(step);
  }
  // Both ends of the reach are rungs, whatever lies near them.
  const end = rungs.at(-1);
  if (end !== undefined && end !== high && distance(high) - distance(end) < apart && rungs.length > 1)
    rungs.pop();
  return end === high ? rungs : [...rungs, high];
}
