/** A check, study or calibration as a screen shows it: step by step, and at the end what it showed. Lengths in mm. */
import type { SessionUse } from '../gauging/events';
import type { ErrorPart, QuestionPart } from './bay-screen';
import type { Chart } from './svg-chart';
import type { Table } from './table';

export interface SessionPart {
  /** Shares its numbers with the jobs; null until the fixture was found. */
  readonly session: number | null;
  readonly use: SessionUse;
  readonly title: string;
  readonly technician: string;
  /** From 1; 0 before the first. */
  readonly step: number;
  readonly of: number;
  readonly question: QuestionPart | null;
  /** Newest last. */
  readonly readings: readonly { readonly text: string; readonly heightMm: number }[];
  /** What it cannot go on for. */
  readonly trouble: ErrorPart | null;
  readonly done: SessionResult | null;
}

export interface SessionResult {
  readonly isGood: boolean;
  readonly title: string;
  readonly sentences: readonly string[];
  readonly tables: readonly Table[];
  readonly charts: readonly Chart[];
  /** A study that may be accepted, so that jobs count with it. */
  readonly mayAccept?: true;
}

export const SESSION_TITLES: Record<SessionUse, string> = {
  check: 'Daily check',
  study: 'Study of clampings',
  calibration: 'Calibration',
};
