/** Until when a survey counts. */
import type { BaySurvey, Day } from './bay';

/** The day after which a survey no longer counts. */
export function expiryOf({ date, expiresDays }: Pick<BaySurvey, 'date' | 'expiresDays'>): Day {
  const end = new Date(`${date}T00:00:00Z`);
  end.setUTCDate(end.getUTCDate() + expiresDays);
  return end.toISOString().slice(0, 10);
}
