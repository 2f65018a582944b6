/** Whether the two casters carry alike, from the force that swings each, and the shim that makes them. */

/** One check: what it took to swing each caster, with a shim of known height under the left one (negative: under the right). */
export interface SwingCheck {
  readonly leftN: number;
  readonly rightN: number;
  readonly leftShimMm: number;
}

export interface CasterSwing {
  /** (left - right) / (left + right) at each check: 0 when they carry alike. */
  readonly imbalance: readonly number[];
  /** Shim under the left caster at which the imbalance is nulled (secant), with its standard uncertainty. Undefined: one check, or the shim changed nothing. */
  readonly equalShimMm: number | undefined;
  readonly standardUncertaintyMm: number | undefined;
}

/**
 * The force that swings a caster is in proportion to its load, so the imbalance falls in a straight line with the shim.
 * The last two checks give the line. `forceU` is the relative standard uncertainty of one force by pull scale.
 */
export function casterSwing(checks: readonly SwingCheck[], forceU = 0.05): CasterSwing {
  const imbalance = checks.map(({ leftN, rightN }) => (leftN - rightN) / (leftN + rightN));
  const [a, b] = checks.slice(-2);
  const [p, q] = imbalance.slice(-2);
  const none = { imbalance, equalShimMm: undefined, standardUncertaintyMm: undefined };
  if (a === undefined || b === undefined || p === undefined || q === undefined) return none;
  const [uP, uQ] = [a, b].map(({ leftN, rightN }) => {
    const sum = leftN + rightN;
    return (2 * Math.SQRT2 * leftN * rightN * forceU) / sum ** 2;
  }) as [number, number];
  const change = q - p;
  // A shim whose effect drowns in the scale's uncertainty tells no line.
  if (a.leftShimMm === b.leftShimMm || Math.abs(change) < 2 * Math.sqrt(uP ** 2 + uQ ** 2)) return none;
  const step = b.leftShimMm - a.leftShimMm;
  return {
    imbalance,
    equalShimMm: b.leftShimMm - (q * step) / change,
    standardUncertaintyMm: Math.abs(step / change ** 2) * Math.sqrt((q * uP) ** 2 + (p * uQ) ** 2),
  };
}
