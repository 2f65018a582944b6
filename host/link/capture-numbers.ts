/**
 * Keeps watch over a fixture's row of capture numbers. The fixture never uses a number twice and leaves none out, so a
 * number that is missing below one that was seen is a capture that went astray: lost on the line for now, or fetched by
 * another computer.
 */
export interface CaptureNumbers {
  /** Notes a capture that arrived. */
  see(capture: number): void;
  /** Notes that captures up to this number exist, from the fixture's own word. */
  expectThrough(capture: number): void;
  /** The numbers that are missing and were not named before. */
  takeMissing(): number[];
}

/** A jump this wide is no row of lost captures but another memory; naming each number would help nobody. */
const WIDEST_GAP = 1000;

export function createCaptureNumbers(): CaptureNumbers {
  let highest: number | undefined;
  const missing = new Set<number>();

  const expectThrough = (capture: number) => {
    if (highest !== undefined && capture - highest <= WIDEST_GAP) {
      for (let n = highest + 1; n <= capture; n += 1) missing.add(n);
    }
    highest = Math.max(highest ?? capture, capture);
  };

  return {
    expectThrough,
    see: (capture) => {
      expectThrough(capture);
      missing.delete(capture);
    },
    takeMissing: () => {
      const named = [...missing];
      missing.clear();
      return named;
    },
  };
}
