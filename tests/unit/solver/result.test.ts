/** The decision rule. */
import { describe, expect, test } from 'vitest';
import { judge, type MeasureQuestion, type MeasureResult } from '../../../protocol/solver';

function ask(name: string): MeasureQuestion {
  return { what: 'bend', name, spindle: 0, targetMm: 0, lowerMm: -3, upperMm: 3 };
}
function measured(
  name: string,
  valueMm: number,
  standardUncertaintyMm: number,
  degreesOfFreedom?: number,
): MeasureResult {
  const known = degreesOfFreedom === undefined ? {} : { degreesOfFreedom };
  return { name, determined: true, valueMm, standardUncertaintyMm, ...known };
}

describe('one measure', () => {
  // A normal table gives P(z < 2.0537) = 0.98 and P(z < 2.3263) = 0.99; the far limit adds nothing here.
  test.each([
    [3 - 2.06 * 0.5, 0.5, 'pass'],
    [3 - 2.04 * 0.5, 0.5, 'undecided'],
    [3 + 2.04 * 0.5, 0.5, 'undecided'],
    [3 + 2.06 * 0.5, 0.5, 'fail'],
    [-3 - 2.06 * 0.5, 0.5, 'fail'],
    [0, 3 / 2.31, 'undecided'],
    [0, 3 / 2.34, 'pass'],
  ] as const)('%d with u %d: %s', (value, u, decision) => {
    expect(judge({ measures: [measured('a', value, u)] }, [ask('a')]).decision).toBe(decision);
  });
});

test('the joint rule is stricter than each measure by itself', () => {
  const near = (name: string) => measured(name, 3 - 2.2 * 0.5, 0.5);
  expect(judge({ measures: [near('a')] }, [ask('a')]).decision).toBe('pass');
  const two = judge({ measures: [near('a'), near('b')] }, [ask('a'), ask('b')]);
  expect(two.decision).toBe('undecided');
  const [a, b] = two.perMeasure.map((m) => (m.determined ? m.probability : 0));
  expect(two.jointProbability).toBeCloseTo(1 - (1 - a) - (1 - b), 12);
});

test('a measure that is not determined is never accepted, but another may fail', () => {
  const unknown: MeasureResult = { name: 'b', determined: false };
  const good = judge({ measures: [measured('a', 0, 0.1), unknown] }, [ask('a'), ask('b')]);
  expect(good).toMatchObject({ decision: 'undecided', jointProbability: 0, notDetermined: ['b'] });
  const bad = judge({ measures: [measured('a', 9, 0.1), unknown] }, [ask('a'), ask('b')]);
  expect(bad.decision).toBe('fail');
});

test('few degrees of freedom need more room', () => {
  const by = (degreesOfFreedom: number) =>
    judge({ measures: [measured('a', 3 - 2.3 * 0.5, 0.5, degreesOfFreedom)] }, [ask('a')]).decision;
  expect(by(30)).toBe('pass');
  // GUM table G.2: t for 95.45 % and 5 degrees of freedom is 2.65, so 2.3 leaves more than 2 % outside.
  expect(by(5)).toBe('undecided');
});

test('nothing asked, nothing passed', () => {
  expect(judge({ measures: [] }, []).decision).toBe('undecided');
});
