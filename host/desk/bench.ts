/** What stands behind a desk: the fixtures of this bay, and whoever moves them. */
import type { ConductOptions } from '../conduct/conduct';
import type { OpenSessionLink, SessionHands } from '../conduct/gauging-session';
import type { Hands } from '../conduct/hands';
import type { JobEvent } from '../ledger/events';
import type { JobState } from '../procedure/state';

export type OpenLink = ConductOptions['openLinks'][number];

export interface Bench {
  /** Every job at it is marked as simulated. */
  readonly simulated: boolean;
  /** Takes a job up, with what has happened in it so far: the links to its fixtures, and the hands of its technician. */
  takeUp(job: JobInLog, person: Hands, say: (text: string) => void): Promise<AtBench>;
  /** Makes the fixture ready for a check or study of this number. */
  sit(session: number): Promise<AtSession>;
  close(): Promise<void>;
}

export interface JobInLog {
  readonly state: JobState;
  readonly events: readonly JobEvent[];
}

export interface AtBench {
  readonly openLinks: readonly OpenLink[];
  /** A person at a screen does everything with their own hands; a simulated shop lends them a technician's. */
  readonly hands: Hands;
}

export interface AtSession {
  readonly openLink: OpenSessionLink;
  /** What the person at the screen does, with what a simulated shop does for them. */
  around(person: SessionHands): SessionHands;
  close(): void;
}
