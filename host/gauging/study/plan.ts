/** The order of a study: every technician clamps every tip anew as often as wanted, in an order drawn from a seed. */
import type { GaugingTarget } from '../events';

export interface StudyPlan {
  readonly tips: readonly string[];
  readonly technicians: readonly string[];
  readonly repeats: number;
  readonly seed: number;
}

export type StudyStep = Extract<GaugingTarget, { kind: 'tip' }>;

/**
 * All repeats are spread over the whole study: within each round of repeats, technicians come in a drawn order and each takes
 * all tips in a drawn order of their own, so that drift does not look like a technician and nobody waits on every reading.
 */
export function studySteps({ tips, technicians, repeats, seed }: StudyPlan): StudyStep[] {
  const draw = drawFrom(seed);
  return Array.from({ length: repeats }, (_, r) =>
    shuffled(technicians, draw).flatMap((technician) =>
      shuffled(tips, draw).map((tip): StudyStep => ({ kind: 'tip', tip, technician, repeat: r + 1 })),
    ),
  ).flat();
}

/** Fisher and Yates. */
function shuffled<T>(items: readonly T[], draw: () => number): T[] {
  const list = [...items];
  for (let i = list.length - 1; i > 0; i--) {
    const j = Math.floor(draw() * (i + 1));
    [list[i], list[j]] = [list[j], list[i]];
  }
  return list;
}

/** Numbers from 0 to 1 from a seed: a Weyl sequence through a 32-bit mixer (finaliser of MurmurHash3). */
function drawFrom(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x9e3779b9) | 0;
    let bits = Math.imul(state ^ (state >>> 16), 0x85ebca6b);
    bits = Math.imul(bits ^ (bits >>> 13), 0xc2b2ae35);
    return ((bits ^ (bits >>> 16)) >>> 0) / 2 ** 32;
  };
}
