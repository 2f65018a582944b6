/** The drawings of the head against the simulated head's numbers, the range of the sensor and the edges of the height master. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { NOMINAL_HEIGHT_MASTER } from '../../../host/gauging/height-master';
import { EXAMPLE_BODY } from '../../../host/simulation/body';

const read = (name: string) =>
  readFileSync(new URL(`../../../hardware-notes/${name}`, import.meta.url), 'utf8');
const NEAREST_MM = 65;
const FARTHEST_MM = 135;

/** Attributes of the element with this id, as numbers. */
function numbersOf(drawing: string, id: string): Record<string, number> {
  const element = new RegExp(`<\\w+ id="${id}"[^>]*>`).exec(drawing)?.[0] ?? '';
  return Object.fromEntries(
    [...element.matchAll(/ (\w+)="(-?[\d.]+)"/g)].map(([, name = '', value]) => [name, Number(value)]),
  );
}

test('the sensors and beams of the head stand where the simulated head has them', () => {
  const drawing = read('head-positions.svg');
  (['low', 'high'] as const).forEach((position, i) => {
    const { edgeMm, beam } = EXAMPLE_BODY[i as 0 | 1];
    // The drawing counts from the cutting edge, the fixture from the sensor.
    expect(numbersOf(drawing, `origin-${position}`)).toMatchObject({ cx: 0 - edgeMm[0], cy: 0 - edgeMm[2] });
    const line = numbersOf(drawing, `beam-${position}`);
    expect(line).toMatchObject({ x1: 0 - edgeMm[0], y1: 0 - edgeMm[2] });
    const slope = ((line.x2 ?? NaN) - (line.x1 ?? NaN)) / ((line.y1 ?? NaN) - (line.y2 ?? NaN));
    expect(slope).toBeCloseTo(beam[0] / -beam[2], 4);
  });
});

test('the lines of reach end where the sensor does, and the edges of the height master lie on them', () => {
  const drawing = read('reach.svg');
  (['low', 'high'] as const).forEach((position, i) => {
    const { edgeMm } = EXAMPLE_BODY[i as 0 | 1];
    expect(numbersOf(drawing, `reach-${position}`)).toMatchObject({
      x1: NEAREST_MM + edgeMm[2],
      y1: NEAREST_MM,
      x2: FARTHEST_MM + edgeMm[2],
      y2: FARTHEST_MM,
    });
    const { lowMm, highMm } = NOMINAL_HEIGHT_MASTER.edges[i as 0 | 1];
    for (const mm of [lowMm, highMm]) expect(drawing).toContain(`cx="${mm}" cy="${mm - edgeMm[2]}"`);
  });
});

test('the table in the note gives the same edges', () => {
  const note = read('head-and-clamp.md');
  (['low', 'high'] as const).forEach((position, i) => {
    const [x, y, z] = EXAMPLE_BODY[i as 0 | 1].edgeMm;
    expect(note).toMatch(new RegExp(`\\| ${position} \\| \\w+ \\| ${x} mm \\| ${y} mm \\| ${z} mm \\|`));
  });
});

test('the drawing of the height master gives the edges that the tool asks for', () => {
  const drawing = read('height-master.svg');
  for (const { lowMm, highMm } of NOMINAL_HEIGHT_MASTER.edges) {
    for (const mm of [lowMm, highMm]) expect(numbersOf(drawing, `edge-${mm}`)).toMatchObject({ y: mm });
  }
});
