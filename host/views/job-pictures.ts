/** What the page draws of a job: geometry worked out here, so that the page only has to draw it. Null: nothing to draw. */
import type { JobState } from '../procedure/state';
import type { Task } from '../procedure/task';
import { comparison, type Comparison } from './comparison';
import { deckMarks, deckPlan, type DeckMarks, type DeckPlan } from './deck-plan';
import { sidePicture, type SidePicture } from './side-picture';
import type { StageView } from './stage-view';
import { turnPicture, turnPictures, type TurnPicture } from './turn-picture';

export interface JobPictures {
  readonly plan: DeckPlan;
  readonly marks: DeckMarks;
  /** The adjuster to be turned now. */
  readonly turn: TurnPicture | null;
  /** All that the newest result asks to be turned. */
  readonly turns: readonly TurnPicture[];
  readonly side: SidePicture | null;
  readonly comparison: Comparison | null;
}

/** `stages` are those of `state`, oldest first. */
export function jobPictures(state: JobState, task: Task, stages: readonly StageView[]): JobPictures {
  const { profile } = state;
  const turning = stages.at(-1)?.turning;
  return {
    plan: deckPlan(profile),
    marks: deckMarks(state, task),
    turn: task.do === 'turn' ? turnPicture(profile, task.adjuster, task.turns, task.raiseMm) : null,
    turns: turning === undefined ? [] : turnPictures(profile, turning),
    side: sidePicture(profile, stages) ?? null,
    comparison: comparison(profile, stages) ?? null,
  };
}
