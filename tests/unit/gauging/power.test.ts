/** The power note's figures, put together anew: currents, what the converter sees of each output, and what it makes of none. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { asDrawn } from '../../../host/gauging/calibration/first';
import { DIVIDER } from '../../../host/gauging/error-sources';
import { linearise } from '../../../protocol/solver/tip-height';

const note = readFileSync(new URL('../../../hardware-notes/power.md', import.meta.url), 'utf8');
/** Data sheet of the converter's class, from memory: 32768 counts for 4.096 V; the wire counts in 1/256. */
const COUNTS_PER_V = 8000;
const SHUNT_OHM = 150;
/** A converter fed with 3.3 V sees no more. */
const INPUT_MAX_V = 3.3;

const number = (text: string | undefined) => Number((text ?? '').replaceAll(' ', ''));

test('the currents add up to the sum, which one port can give', () => {
  const currents = [...note.matchAll(/^\| [^|*]+ \| (\d+) mA \|/gm)].map(([, mA]) => number(mA));
  const [, sum, left] = /^\| \*\*sum\*\* \| \*\*(\d+) mA\*\* \| (\d+) mA left/m.exec(note) ?? [];
  expect(currents.length).toBe(4);
  expect(currents.reduce((a, b) => a + b, 0)).toBe(number(sum));
  expect(number(sum) + number(left)).toBe(500);
});

const outputs = [
  ...note.matchAll(
    /^\| \**([\d.]+) to ([\d.]+) (V|mA)\** \|[^|]*\| ([\d.]+) V \| ([\d.]+) V \| ([\d ]+) \|$/gm,
  ),
].map(([, from, to, unit, nearV, farV, counts]) => ({
  ends: [number(from), number(to)] as const,
  name: `${from} to ${to} ${unit}`,
  atInput: (x: number) =>
    unit === 'V' ? (x * DIVIDER.groundOhm) / (DIVIDER.seriesOhm + DIVIDER.groundOhm) : (x / 1000) * SHUNT_OHM,
  nearV: number(nearV),
  farV: number(farV),
  counts: number(counts),
}));

test('the note gives three outputs', () => {
  expect(outputs.map(({ name }) => name)).toEqual(['1 to 5 V', '4 to 20 mA', '0 to 5 V']);
});

test.each(outputs)('$name: volts and counts, and nothing at the input is no distance', (output) => {
  const { ends, atInput, nearV, farV, counts } = output;
  if (ends[0] > 0) expect(atInput(ends[0])).toBeCloseTo(nearV, 9);
  expect(atInput(ends[1])).toBeCloseTo(farV, 9);
  expect((farV - nearV) * COUNTS_PER_V).toBeCloseTo(counts, 9);
  const { knots } = asDrawn(0, [nearV, farV]);
  const believed = (volts: number) => linearise(knots, volts * COUNTS_PER_V * 256).inRange;
  expect(believed(0)).toBe(false);
  expect([believed(nearV), believed(farV)]).toEqual([true, true]);
});

test('what the sensor shows without light lies outside its span, and inside what the converter sees', () => {
  const [, lowV, highV, lowMa, highMa] =
    /at most ([\d.]+) V or at least ([\d.]+) V \(([\d.]+) or ([\d.]+) mA\)/.exec(note) ?? [];
  for (const [{ atInput, nearV, farV }, low, high] of [
    [outputs[0], lowV, highV],
    [outputs[1], lowMa, highMa],
  ] as const) {
    const { knots } = asDrawn(1, [nearV, farV]);
    for (const level of [low, high]) {
      const volts = atInput(number(level));
      expect(volts).toBeLessThan(INPUT_MAX_V);
      expect(linearise(knots, volts * COUNTS_PER_V * 256).inRange).toBe(false);
    }
  }
});
