/** Before and after, row by row: measures against their limits, tips against the wanted cut height. */
import type { MachineProfile } from '../machines/profile';
import type { StageView, TipRow, Verdict } from './stage-view';
import { headingText } from './words';

export interface Measured {
  readonly valueMm: number;
  /** Expanded uncertainty, k = 2. */
  readonly expandedMm: number;
}

export interface ComparedRow {
  readonly name: string;
  /** Left out for tips, which have no limits of their own. */
  readonly limits?: { readonly lowerMm: number; readonly upperMm: number };
  readonly targetMm: number;
  readonly before?: Measured;
  /** Left out where the newest readings do not say. */
  readonly now?: Measured;
  readonly verdict?: Verdict;
}

export interface Comparison {
  readonly measures: readonly ComparedRow[];
  readonly tips: readonly ComparedRow[];
}

/** Undefined while nothing has been read. */
export function comparison(profile: MachineProfile, stages: readonly StageView[]): Comparison | undefined {
  const now = stages.at(-1);
  if (now === undefined) return undefined;
  const came = stages.length > 1 ? stages[0] : undefined;
  return {
    measures: now.measures.map(({ name, lowerMm, upperMm, targetMm, verdict, ...row }) => {
      const before = came?.measures.find((m) => m.name === name);
      return {
        name,
        limits: { lowerMm, upperMm },
        targetMm,
        ...measured('before', before),
        ...measured('now', row),
        verdict,
      };
    }),
    tips: now.tips.map((tip) => {
      const before = came?.tips.find((t) => isSamePlace(t, tip));
      return {
        name: `${tip.spindle}, pointing ${headingText(tip.headingDeg)}`,
        targetMm: profile.cutHeightMm,
        ...measured('before', before && { valueMm: before.heightMm, expandedMm: before.expandedMm }),
        now: { valueMm: tip.heightMm, expandedMm: tip.expandedMm },
      };
    }),
  };
}

function isSamePlace(a: TipRow, b: TipRow): boolean {
  return a.spindle === b.spindle && a.headingDeg === b.headingDeg;
}

function measured<K extends string>(key: K, row: Measured | undefined): Partial<Record<K, Measured>> {
  if (row === undefined || !Number.isFinite(row.valueMm) || !Number.isFinite(row.expandedMm)) return {};
  const { valueMm, expandedMm } = row;
  return { [key]: { valueMm, expandedMm } } as Partial<Record<K, Measured>>;
}
