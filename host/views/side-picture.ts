/** The deck from the left with its rake exaggerated, placed in a picture of a given size: front at the left. */
import type { MachineProfile } from '../machines/profile';
import { sideLine, type SideLine } from './deck-drawing';
import type { StageView } from './stage-view';

/** How many times as large as lengths heights are drawn. */
const FACTORS = [100, 50, 20, 10, 5, 2, 1];

export interface Box {
  readonly width: number;
  readonly height: number;
}

export interface SideScale {
  readonly factor: number;
  /** From the left and from the top of the box. */
  readonly x: (xMm: number) => number;
  readonly y: (heightMm: number) => number;
}

/** The largest round factor with which every height still fits into the box. */
export function sideScale(
  profile: MachineProfile,
  stages: readonly StageView[],
  { width, height }: Box,
): SideScale {
  const xs = [
    ...profile.wheels.map((w) => w.xMm),
    ...profile.spindles.flatMap((s) => [s.xMm - s.tipRadiusMm, s.xMm + s.tipRadiusMm]),
  ];
  const lines = stages.flatMap((s) => sideLine(profile, s) ?? []);
  const tips = stages.at(0)?.tips ?? [];
  const heights = [
    profile.cutHeightMm,
    ...lines.flatMap((l) => [l.frontHeightMm, l.rearHeightMm]),
    ...tips.flatMap((t) => [t.heightMm - t.expandedMm, t.heightMm + t.expandedMm]),
  ];
  const [low, high] = [Math.min(...heights), Math.max(...heights)];
  const [rear, front] = [Math.min(...xs), Math.max(...xs)];
  const perMm = width / (front - rear);
  const factor = FACTORS.find((f) => (high - low) * perMm * f <= height) ?? height / ((high - low) * perMm);
  return {
    factor,
    x: (xMm) => (front - xMm) * perMm,
    y: (heightMm) => height / 2 - (heightMm - (low + high) / 2) * perMm * factor,
  };
}

interface Line {
  readonly x1: number;
  readonly y1: number;
  readonly x2: number;
  readonly y2: number;
}

/** In units of the box; y counts downward. */
export interface SidePicture {
  readonly box: Box;
  readonly factor: number;
  readonly wheelXs: readonly number[];
  readonly wanted: { readonly y: number; readonly heightMm: number };
  /** Limits of the cut height, where the profile judges one. */
  readonly limits?: { readonly top: number; readonly bottom: number };
  readonly now: Line & { readonly frontHeightMm: number; readonly rearHeightMm: number };
  /** As the machine came, when that was another reading. */
  readonly before?: Line;
  readonly tips: readonly {
    readonly x: number;
    readonly y: number;
    readonly top: number;
    readonly bottom: number;
  }[];
}

const BOX: Box = { width: 440, height: 120 };

/** Undefined when the newest readings do not determine the plane. */
export function sidePicture(
  profile: MachineProfile,
  stages: readonly StageView[],
  box: Box = BOX,
): SidePicture | undefined {
  const now = stages.at(-1);
  const line = now === undefined ? undefined : sideLine(profile, now);
  if (now === undefined || line === undefined) return undefined;
  const came = stages.length > 1 ? stages[0] : undefined;
  const scale = sideScale(profile, [now, ...(came === undefined ? [] : [came])], box);
  const before = came === undefined ? undefined : sideLine(profile, came);
  const within = (y: number) => Math.min(box.height, Math.max(0, y));
  const height = profile.measures.find((m) => m.what === 'tips' && m.spanMm === 0);
  return {
    box,
    factor: scale.factor,
    wheelXs: [...new Set(profile.wheels.map((w) => scale.x(w.xMm)))],
    wanted: { y: scale.y(profile.cutHeightMm), heightMm: profile.cutHeightMm },
    ...(height === undefined
      ? {}
      : {
          limits: { top: within(scale.y(height.upperMm)), bottom: within(scale.y(height.lowerMm)) },
        }),
    now: { ...placed(line, scale), frontHeightMm: line.frontHeightMm, rearHeightMm: line.rearHeightMm },
    ...(before === undefined ? {} : { before: placed(before, scale) }),
    tips: now.tips.map((t) => ({
      x: scale.x(t.xMm),
      y: scale.y(t.heightMm),
      top: scale.y(t.heightMm + t.expandedMm),
      bottom: scale.y(t.heightMm - t.expandedMm),
    })),
  };
}

function placed(line: SideLine, scale: SideScale): Line {
  return {
    x1: scale.x(line.frontXMm),
    y1: scale.y(line.frontHeightMm),
    x2: scale.x(line.rearXMm),
    y2: scale.y(line.rearHeightMm),
  };
}
