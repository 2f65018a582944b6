/**
 * The bay's bias by turning a machine round: measured, driven out, stood on the same spots facing the other way, measured
 * again. The machine turns with it, the floor does not, so half the difference is the floor's part in the first result.
 */
export interface Measured {
  readonly name: string;
  readonly valueMm: number;
  /** Without the floor's part, which is what is sought. */
  readonly standardUncertaintyMm: number;
}

export interface BayBias {
  readonly name: string;
  /** What the floor adds to the measure for a machine that faces as in the first job. */
  readonly biasMm: number;
  readonly standardUncertaintyMm: number;
}

/** A weighted sum of floor heights in the bay's frame, as a turn-round shows it. */
export interface FloorSum {
  readonly name: string;
  readonly on: string;
  readonly places: readonly { readonly xMm: number; readonly yMm: number; readonly weight: number }[];
  readonly valueMm: number;
  readonly standardUncertaintyMm: number;
}

/** One bias for every measure that both have; the two readings' errors are independent. */
export function bayBias(first: readonly Measured[], turned: readonly Measured[]): BayBias[] {
  return first.flatMap(({ name, valueMm, standardUncertaintyMm }) => {
    const other = turned.find((m) => m.name === name);
    if (other === undefined) return [];
    return [
      {
        name,
        biasMm: (valueMm - other.valueMm) / 2,
        standardUncertaintyMm: Math.sqrt(standardUncertaintyMm ** 2 + other.standardUncertaintyMm ** 2) / 2,
      },
    ];
  });
}
