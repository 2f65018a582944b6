/** Whether the head has reached a steady temperature: means of following blocks of two seconds differ little. */

const BLOCK_MS = 2000;
const STEADY_CENTI_C = 10;

export interface WarmUp {
  take(temperatureCentiC: number, uptimeMs: number): void;
  warming(): boolean;
}

export function createWarmUp(): WarmUp {
  let warming = true;
  let before: number | undefined = undefined;
  let blockStartMs: number | undefined = undefined;
  let sum = 0;
  let n = 0;

  return {
    take: (temperatureCentiC, uptimeMs) => {
      if (blockStartMs === undefined) blockStartMs = uptimeMs;
      sum += temperatureCentiC;
      n += 1;
      if (uptimeMs - blockStartMs < BLOCK_MS) return;
      const mean = sum / n;
      warming = before === undefined || Math.abs(mean - before) > STEADY_CENTI_C;
      before = mean;
      blockStartMs = uptimeMs;
      sum = 0;
      n = 0;
    },
    warming: () => warming,
  };
}
