/** What is said of a fault. Readings, sizes and machine are invented; the advice is common practice, no source. */
import { expect, it } from 'vitest';
import type { Explanation } from '../../../protocol/solver';
import { loadProfile } from '../../../host/machines/load';
import { faultHeadline, faultLines, faultView } from '../../../host/views/fault-view';

const profile = loadProfile('quellbeck-133');
const target = { kind: 'tip', spindle: 'left', headingDeg: 90, end: 'A' } as const;
const readings = [1, 2, 3].map((number) => ({ number, target }));

function explanation(change: Partial<Explanation>): Explanation {
  return {
    kind: 'bent blade',
    spindle: 0,
    readings: [0, 1],
    sizeMm: 6.14,
    standardUncertaintyMm: 0.4,
    riseForwardMm: 0,
    riseLeftMm: 0,
    limitMm: 3,
    limitOf: 'bend left',
    probability: 0.98,
    beyondLimit: 1,
    ...change,
  };
}

const viewOf = (...explanations: Explanation[]) =>
  faultView(profile, readings, { adjustmentOnly: 0.9, findings: [{ explanations }], hidden: [] });

it('names the part, its size against its limit, how sure, and what to do', () => {
  const view = viewOf(explanation({}));
  expect(view.rows.map(faultHeadline)).toEqual([
    'At fault: left blade bent; end A 6.1 ± 0.8 mm above end B, limit 3.0 mm (bend left); sure to 98 %',
  ]);
  expect(view.rows[0]?.captures).toEqual([1, 2]);
  expect(faultLines(view)[1]).toBe(
    '  to do: replace the left blade; never straighten it, never fit it upside down',
  );
});

it('a part within its limit is kept in the record and not called at fault', () => {
  const view = viewOf(explanation({ sizeMm: 1.5, beyondLimit: 0.001 }));
  expect(view.rows[0]?.status).toBe('within its limit');
  expect(faultLines(view)).toEqual([]);
});

it.each([
  [explanation({ kind: 'bent shaft or dirty hub face' }), 'refit the left blade half a turn round'],
  [explanation({ kind: 'spindle high or low' }), 'swap the left blade with a known good one'],
  [explanation({ kind: 'one bad reading' }), 'clamp again'],
  [explanation({ kind: 'floor' }), 'survey the floor'],
])('a blade and %o: the test between them', (other, test) => {
  const lines = faultLines(viewOf(explanation({}), other));
  expect(lines[0]).toContain(', or ');
  expect(lines.filter((l) => l.includes('to tell them apart')).join()).toContain(test);
});

it('a tilt and a twist are told apart by a third heading and by the play of the tip', () => {
  const tilt = explanation({
    kind: 'spindle tilted',
    riseForwardMm: 4,
    riseLeftMm: 4.1,
    sizeMm: 5.7,
    limitOf: '',
  });
  const lines = faultLines(viewOf(tilt, explanation({ kind: 'twisted shell', spindle: -1 })));
  expect(lines[0]).toContain(
    "5.7 ± 0.8 mm across the blade's circle, highest forward left, limit 3.0 mm (shop limit)",
  );
  expect(lines.join()).toContain('read a third heading on the left blade; push and pull its tip');
});

it('on one spindle tilt and slope are said to be inseparable', () => {
  const { hidden } = faultView(loadProfile('pimwick-76'), [], {
    adjustmentOnly: 1,
    findings: [],
    hidden: [
      { kind: 'spindle high or low', spindle: 0 },
      { kind: 'spindle tilted', spindle: 0 },
    ],
  });
  expect(hidden).toEqual([
    'On one spindle a tilted spindle cannot be told from the slope of the deck, nor a high spindle from its height.',
  ]);
});
