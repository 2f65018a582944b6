/**
 * What the gyro says: whether the fixture moves, and how far it turned about the vertical.
 *
 * A gyro at rest shows a bias of several degrees a second that changes slowly. It is taken over blocks of samples in
 * which the rates hardly vary, for then nothing turns; a block whose mean differs much from the known bias is believed
 * only when many follow each other, because a steady hand can turn a blade evenly for a moment.
 */

const BLOCK_SAMPLES = 64;
/** Rates of one still block lie within this of its first; the part's noise is about a tenth of it. */
const STILL_MDEG_S = 600;
/** Further than this from the bias is movement. */
const MOVING_MDEG_S = 1000;
/** After the last sign of movement it takes this long until things count as still. */
const HOLD_SAMPLES = 15;
/** So many still blocks (2 s) with another mean make it the bias. */
const BLOCKS_TO_BELIEVE = 8;
/** Share of a block's mean that moves the bias. */
const FOLLOW = 0.25;

export interface Turn {
  /** Takes one sample: rates (mdeg/s), `up` a vector along the vertical (any length), and the time since the last one. */
  take(
    xMdegS: number,
    yMdegS: number,
    zMdegS: number,
    upX: number,
    upY: number,
    upZ: number,
    seconds: number,
  ): void;
  moving(): boolean;
  /** Since the last `zero()`, counter-clockwise seen from above. */
  turnedDeg(): number;
  zero(): void;
}

export function createTurn(): Turn {
  let biasKnown = false;
  let biasX = 0;
  let biasY = 0;
  let biasZ = 0;
  let hold = HOLD_SAMPLES;
  let turned = 0;

  let inBlock = 0;
  let firstX = 0;
  let firstY = 0;
  let firstZ = 0;
  let sumX = 0;
  let sumY = 0;
  let sumZ = 0;
  let strangeBlocks = 0;

  function endBlock(): void {
    const x = sumX / BLOCK_SAMPLES;
    const y = sumY / BLOCK_SAMPLES;
    const z = sumZ / BLOCK_SAMPLES;
    inBlock = 0;
    if (biasKnown && !apart(x, y, z, biasX, biasY, biasZ, MOVING_MDEG_S)) {
      strangeBlocks = 0;
      biasX += FOLLOW * (x - biasX);
      biasY += FOLLOW * (y - biasY);
      biasZ += FOLLOW * (z - biasZ);
      return;
    }
    strangeBlocks += 1;
    if (biasKnown && strangeBlocks < BLOCKS_TO_BELIEVE) return;
    strangeBlocks = 0;
    biasKnown = true;
    biasX = x;
    biasY = y;
    biasZ = z;
  }

  function followBias(x: number, y: number, z: number): void {
    if (inBlock === 0) {
      firstX = x;
      firstY = y;
      firstZ = z;
      sumX = 0;
      sumY = 0;
      sumZ = 0;
    } else if (apart(x, y, z, firstX, firstY, firstZ, STILL_MDEG_S)) {
      inBlock = 0;
      strangeBlocks = 0;
      return;
    }
    inBlock += 1;
    sumX += x;
    sumY += y;
    sumZ += z;
    if (inBlock === BLOCK_SAMPLES) endBlock();
  }

  return {
    take: (x, y, z, upX, upY, upZ, seconds) => {
      followBias(x, y, z);
      if (!biasKnown) return;
      if (apart(x, y, z, biasX, biasY, biasZ, MOVING_MDEG_S)) hold = HOLD_SAMPLES;
      else if (hold > 0) hold -= 1;
      // At rest only noise and the rest of the bias would add up.
      if (hold === 0) return;
      const length = Math.sqrt(upX * upX + upY * upY + upZ * upZ);
      if (length === 0) return;
      const rate = ((x - biasX) * upX + (y - biasY) * upY + (z - biasZ) * upZ) / length;
      turned += (rate * seconds) / 1000;
    },
    moving: () => hold > 0,
    turnedDeg: () => turned,
    zero: () => {
      turned = 0;
    },
  };
}

function apart(x: number, y: number, z: number, a: number, b: number, c: number, limit: number): boolean {
  return x - a > limit || a - x > limit || y - b > limit || b - y > limit || z - c > limit || c - z > limit;
}
