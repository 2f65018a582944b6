/** Who does what the job asks: a technician at a face, or the simulated technician of the demo. */
import type { Body } from '../../protocol/wire/messages';
import type { AnswerTo, Question } from '../procedure/answer';
import type { JobState } from '../procedure/state';
import type { Task } from '../procedure/task';
import type { StageView } from '../views/stage-view';

export type { Question };

/** Heights are not the hands' to say where the fixture shows them. */
export type SaidTo<Q extends Question> = Q extends { do: 'push and pull' } ? 'done' | 'not now' : AnswerTo<Q>;

export type ReadTask = Extract<Task, { do: 'read' }>;

export interface Hands {
  /**
   * Does or answers what the job asks and says so. `offers` are texts to choose from, where there are any. While an
   * adjuster is turned live or a tip is pushed and pulled, the fixture on it shows its height meanwhile.
   */
  answer<Q extends Question>(question: Q, offers?: readonly string[]): Promise<SaidTo<Q>>;
  /**
   * Brings the fixture where the task says, arms it, and triggers the capture by the fixture's own button or by `capture`.
   * May return once the capture is triggered. `over` fires when the capture is safe on the disk or the reading has to be
   * asked for again. `clamped anew`: nothing was read, the fixture is clamped once more on the same tip.
   */
  read(task: ReadTask, fixture: FixtureInHand, over: AbortSignal): Promise<'clamped anew' | undefined>;
  /** What the fixture shows now. */
  sees?(live: Body<'live'>): void;
  /** The button of a fixture was pressed while it was not to capture: it answers what one key would. */
  pressed?(): void;
}

/** What the hands may have the fixture do. Both wait for the cable when it is out. */
export interface FixtureInHand {
  /** Laser on, live heights, button alive. */
  arm(): Promise<void>;
  /** The same as pressing its button. */
  capture(): Promise<void>;
}

/** What is shown while the job runs. All of it is optional to look at; nothing is asked here. */
export interface Screen {
  task(task: Task): void;
  live(live: Body<'live'>): void;
  /** A capture is safe on the disk. */
  captured(heightMm: number, capture: Body<'captured'>): void;
  /** A set of readings is complete. */
  assessed(view: StageView): void;
  /** One line about the link, a foreign capture or another thing worth knowing, with its error number if it has one. */
  notice(text: string): void;
  /** A fixture is not to be heard, or is heard again. */
  heard?(fixtureId: string, isHeard: boolean): void;
  /** The job as it stands, when it is taken up and after every event. */
  job?(state: JobState): void;
}
