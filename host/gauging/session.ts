/** A session with the fixture as it stands: its steps, and the sound capture of each. */
import { captureHeightUm } from '../../protocol/solver';
import type { Body } from '../../protocol/wire/messages';
import { degreesMissing, firstPlaceC } from './calibration/temperature';
import type { GaugingEvent, GaugingTarget, SessionOpened } from './events';

export interface SessionReading {
  /** From 1. */
  readonly step: number;
  readonly target: GaugingTarget;
  readonly capture: Body<'captured'>;
}

export interface Session {
  readonly opened: SessionOpened;
  /** The newest sound capture of each step that has one, in the order of the steps; at the temperature that it wants. */
  readonly readings: readonly SessionReading[];
  readonly leftOut: readonly number[];
  readonly closed: boolean;
  /** The next step to be read; undefined when all are read or left out. */
  readonly nextStep: number | undefined;
}

/** `captures` of the session's number, oldest first; others are passed over. Undefined when it was never opened. */
export function sessionOf(
  events: readonly GaugingEvent[],
  session: number,
  captures: readonly { readonly fixtureId: string; readonly capture: Body<'captured'> }[],
): Session | undefined {
  const own = events.filter((e) => 'session' in e && e.session === session);
  const opened = own.find((e): e is SessionOpened => e.type === 'session opened');
  if (opened === undefined) return undefined;
  const { fixtureId } = opened.fixture;
  const sound = captures
    .filter((c) => c.fixtureId === fixtureId && c.capture.job === session)
    .map((c) => c.capture)
    .filter((c) => isSound(c, opened.calibrations));
  const all = sound.flatMap((capture) => {
    const target = opened.steps[capture.step - 1];
    return target === undefined ? [] : [{ target, capture }];
  });
  const firstC = firstPlaceC(all);
  const counting = all.filter((r) => degreesMissing(r.target, r.capture, firstC) === 0);
  const readings = opened.steps.flatMap((target, i): SessionReading[] => {
    const capture = counting.findLast((r) => r.capture.step === i + 1)?.capture;
    return capture === undefined ? [] : [{ step: i + 1, target, capture }];
  });
  const leftOut = own.flatMap((e) => (e.type === 'step left out' ? [e.step] : []));
  const done = new Set([...readings.map((r) => r.step), ...leftOut]);
  const next = opened.steps.findIndex((_, i) => !done.has(i + 1));
  return {
    opened,
    readings,
    leftOut,
    closed: own.some((e) => e.type === 'session closed'),
    nextStep: next < 0 ? undefined : next + 1,
  };
}

/** The height that the fixture said comes out again from the raw reading and the calibration on record. */
export function isSound(capture: Body<'captured'>, calibrations: readonly Body<'calibration'>[]): boolean {
  const calibration = calibrations.find(
    (c) => c.headPosition === capture.headPosition && c.version === capture.calibrationVersion,
  );
  if (calibration === undefined) return false;
  const again = captureHeightUm(calibration, capture);
  return again.distanceUm === capture.distance && again.heightUm === capture.height;
}
