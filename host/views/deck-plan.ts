/** The deck from above as a face draws it: what stands where in the profile's frame, which tip is wanted, what was read. */
import type { MachineProfile } from '../machines/profile';
import { assess, tipReadings } from '../procedure/assess';
import { currentSetting, type JobState } from '../procedure/state';
import type { Task } from '../procedure/task';
import { extentOf, WHEEL_MM, type Extent } from './deck-drawing';

export interface Place {
  readonly xMm: number;
  readonly yMm: number;
}

export interface DeckPlan extends Pick<MachineProfile, 'model' | 'wheels' | 'spindles' | 'hangers'> {
  readonly extent: Extent;
  /** Size that a wheel is drawn with: profiles do not state it. */
  readonly wheelMm: { readonly length: number; readonly width: number };
  /** An adjuster is where the hangers are that it moves. */
  readonly adjusters: readonly { readonly name: string; readonly places: readonly Place[] }[];
  /** Lower edge of the shell, side by side; empty where the profile has none. */
  readonly skirt: readonly (readonly Place[])[];
}

/** Everything that does not change during a job. */
export function deckPlan(profile: MachineProfile): DeckPlan {
  const { model, wheels, spindles, hangers } = profile;
  return {
    model,
    wheels,
    spindles,
    hangers,
    extent: extentOf(profile),
    wheelMm: WHEEL_MM,
    adjusters: profile.adjusters.map(({ name, moves }) => ({ name, places: placesOf(profile, moves) })),
    skirt: (profile.skirt ?? []).map((side) => side.points.map(({ xMm, yMm }) => ({ xMm, yMm }))),
  };
}

/** Where the hangers are that an adjuster moves. */
export function placesOf(
  { hangers }: Pick<MachineProfile, 'hangers'>,
  moves: MachineProfile['adjusters'][number]['moves'],
): Place[] {
  return hangers.filter((h) => moves.some((m) => m.hanger === h.name)).map(({ xMm, yMm }) => ({ xMm, yMm }));
}

/** A place on a blade circle that is read: a tip pointing there. */
export interface TipPlace extends Place {
  /** In the order read, from 1. */
  readonly number: number;
  readonly spindle: string;
  readonly headingDeg: number;
}

export interface WantedTip extends TipPlace {
  readonly end: 'A' | 'B';
}

export interface TakenTip extends TipPlace {
  /** One for each end of the blade that was read there. */
  readonly ends: readonly {
    readonly end: 'A' | 'B';
    readonly heightMm: number;
    /** What the reading is above all that the others predict for it; left out where they do not. */
    readonly offMm?: number;
  }[];
}

export interface DeckMarks {
  readonly wanted?: WantedTip;
  readonly taken: readonly TakenTip[];
}

/** The tips of the setting in hand, and the one that `task` wants, if it wants one. */
export function deckMarks(state: JobState, task: Task): DeckMarks {
  const taken = takenTips(state);
  const target =
    task.do === 'read' || task.do === 'read by ruler'
      ? task.target
      : task.do === 'check reading'
        ? task.reading.target
        : undefined;
  if (target === undefined || target.kind === 'master') return { taken };
  const { spindle, headingDeg, end } = target;
  const known = taken.find((t) => t.spindle === spindle && t.headingDeg === headingDeg);
  const number = known?.number ?? taken.length + 1;
  return { taken, wanted: { number, spindle, headingDeg, end, ...tipPlace(state.profile, target) } };
}

function takenTips(state: JobState): TakenTip[] {
  const setting = currentSetting(state);
  if (setting === undefined) return [];
  const readings = tipReadings(state, setting);
  const residuals = readings.length === 0 ? [] : assess(state, setting).solution.residuals;
  const taken = new Map<string, TakenTip>();
  for (const [i, reading] of readings.entries()) {
    const { spindle, headingDeg, end } = reading.target;
    const key = `${spindle} ${headingDeg}`;
    const before = taken.get(key);
    const residual = residuals[i];
    const now = {
      end,
      heightMm: reading.by === 'ruler' ? reading.heightMm : reading.capture.height / 1000,
      ...(residual?.determined === true ? { offMm: residual.valueMm } : {}),
    };
    taken.set(key, {
      number: before?.number ?? taken.size + 1,
      spindle,
      headingDeg,
      ...tipPlace(state.profile, reading.target),
      // The newest reading of an end stands for it.
      ends: [...(before?.ends ?? []).filter((e) => e.end !== end), now],
    });
  }
  return [...taken.values()];
}

function tipPlace(
  { spindles }: MachineProfile,
  target: { readonly spindle: string; readonly headingDeg: number },
): Place {
  const spindle = spindles.find((s) => s.name === target.spindle);
  if (spindle === undefined) throw new Error(`the profile has no spindle "${target.spindle}"`);
  const heading = (target.headingDeg * Math.PI) / 180;
  return {
    xMm: spindle.xMm + spindle.tipRadiusMm * Math.cos(heading),
    yMm: spindle.yMm + spindle.tipRadiusMm * Math.sin(heading),
  };
}
