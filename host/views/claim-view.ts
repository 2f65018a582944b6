/**
 * What the readings offer for a warranty claim. Only what they support: which part is at fault and by how much, and what
 * was done. Why it came to that (wear, an impact, neglect) no reading shows, so no offer says it.
 */
import type { ClaimField } from '../ledger/events';
import { assess } from '../procedure/assess';
import type { JobState, Setting } from '../procedure/state';
import { faultView } from './fault-view';

/** Texts to choose from; none where only a person knows. */
export function claimOffers(state: JobState, field: ClaimField): readonly string[] {
  switch (field) {
    case 'cause':
      return causes(state);
    case 'correction':
      return corrections(state);
    case 'parts':
      return replacedParts(state);
    case 'complaint':
    case 'hour meter':
    case 'delivered on':
      return [];
  }
}

/** What stood beyond its limit when the machine came; where nothing did, that the adjustment was out, or nothing at all. */
function causes(state: JobState): string[] {
  const arrival = state.settings.find((s) => s.assessed.length > 0);
  if (arrival === undefined) return [];
  const assessment = assess(state, arrival);
  const readings = assessment.readings.map((r) => ({ target: r.target, number: r.number }));
  const faults = faultView(state.profile, readings, assessment.faults())
    .rows.filter((row) => row.beyondLimit > 0.5)
    .map((row) => `${row.parts}: ${row.size}`);
  if (faults.length > 0) return faults;
  const { decision } = assessment.result;
  if (decision === 'fail')
    return ['the adjustment of the deck was outside its limits; no part is seen at fault'];
  return [
    decision === 'pass'
      ? 'the deck was within its limits as it came; the readings support no cause'
      : 'the readings do not decide; they support no cause',
  ];
}

/** Which parts and which adjusters; how far each was turned stands on the record besides. */
function corrections({ settings }: JobState): string[] {
  const turned = new Set(settings.flatMap((s) => s.turned.map((t) => t.adjuster)));
  const done = [
    ...settings.flatMap(replaced),
    ...(turned.size === 0 ? [] : [`adjusters turned: ${[...turned].join(', ')}`]),
    ...(settings.some((s) => s.tightened) ? ['lock nuts tightened'] : []),
  ];
  return [done.length === 0 ? 'nothing was changed' : done.join('; ')];
}

/** Which parts were put on; their numbers only the technician knows. */
function replacedParts({ settings }: JobState): string[] {
  const parts = settings.flatMap((s) =>
    s.decided.filter((d) => d.answer !== 'not now').map((d) => `${d.spindle} ${d.part}`),
  );
  return parts.length === 0 ? ['none'] : [parts.join(', ')];
}

function replaced({ decided }: Setting): string[] {
  return decided
    .filter((d) => d.answer !== 'not now')
    .map(({ spindle, part }) =>
      part === 'good blade on trial' ? `${spindle}: a good blade put on` : `${spindle}: ${part} replaced`,
    );
}
