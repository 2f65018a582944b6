/** A machine while it is being typed: the deck as far as it is known, and every fault beside its field. */
import type { DeckPlan } from './deck-plan';

export interface MachineDraft {
  /** Null where what is typed cannot be a machine. */
  readonly plan: DeckPlan | null;
  /** Everything was typed and nothing stands against it. */
  readonly isComplete: boolean;
  readonly faults: readonly {
    /** Of the dimensions; empty where it is about the whole. */
    readonly field: string;
    readonly number: number;
    readonly text: string;
  }[];
}
