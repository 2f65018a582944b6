/** Derived measures against those that were written by hand for every invented machine, term by term. */
import { expect, test } from 'vitest';
import { defaultMeasures } from '../../../host/machines/default-measures';
import { listProfiles } from '../../../host/machines/load';

test.each(listProfiles().map((p) => [p.model, p] as const))(
  '%s: the derived measures are those declared by hand',
  (_, { spindles, cutHeightMm, measures }) => {
    const derived = defaultMeasures(spindles, cutHeightMm);
    const comparable = (list: typeof measures) =>
      list.map((m) => ({
        ...m,
        spanMm: m.what === 'tips' ? m.spanMm : 0,
        terms: m.what === 'tips' ? m.terms : [],
      }));
    expect(comparable(derived)).toEqual(comparable(measures));
  },
);
