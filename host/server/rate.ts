/** How often somebody may ask: a bucket of tokens for each, which fills up again with time. */
export interface Rate {
  admits(who: string): boolean;
}

/** More askers than this at a time are no bay: the fullest buckets are forgotten first. */
const MOST_ASKERS = 1000;

export function createRate({ most, perMs }: { most: number; perMs: number }, nowMs: () => number): Rate {
  const buckets = new Map<string, { left: number; at: number }>();
  return {
    admits: (who) => {
      const now = nowMs();
      const before = buckets.get(who) ?? { left: most, at: now };
      const left = Math.min(most, before.left + ((now - before.at) * most) / perMs);
      const admitted = left >= 1;
      buckets.delete(who);
      buckets.set(who, { left: admitted ? left - 1 : left, at: now });
      if (buckets.size > MOST_ASKERS) buckets.delete(buckets.keys().next().value as string);
      return admitted;
    },
  };
}
