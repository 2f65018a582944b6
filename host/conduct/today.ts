import type { Day } from '../gauging/equipment';

/** The day by the computer's clock, in UTC as everything in a log. */
export const today = (): Day => new Date().toISOString().slice(0, 10);
