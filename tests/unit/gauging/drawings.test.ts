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

/** Left, right, bottom and top of the rectangle with this id, y upward. */
function box(drawing: string, id: string) {
  const { x = NaN, y = NaN, width = NaN, height = NaN } = numbersOf(drawing, id);
  return { left: x, right: x + width, bottom: y, top: y + height };
}

/** From the beam: toward the blade's centre and toward the tip; from the edge: in front, behind, below, above. */
function envelope() {
  const clamp = read('clamp.svg');
  const [beam, seen, post] = [numbersOf(clamp, 'beam'), box(clamp, 'envelope'), box(clamp, 'post')];
  return {
    ...{ in: seen.right - beam.cx, out: beam.cx - seen.left, fromTip: beam.cx, toBeam: beam.cy },
    // Drawn from below: forward of the edge is downward.
    ...{ front: seen.top, behind: -seen.bottom, below: -post.bottom, above: post.top },
  };
}

test('clamp, head and note agree on where the beam is and how much room the fixture needs', () => {
  const of = envelope();
  const [clamp, heads, note] = [read('clamp.svg'), read('head-positions.svg'), read('head-and-clamp.md')];
  for (const { edgeMm } of EXAMPLE_BODY) expect(of.toBeam).toBe(0 - edgeMm[1]);
  expect(heads.match(new RegExp(`>${of.fromTip}<`, 'g'))).toHaveLength(2);
  const room = `${of.in + of.out} mm along the blade, ${of.front + of.behind} mm across it`;
  expect(note).toContain(room);
  expect(note).toMatch(new RegExp(`from ${of.below} mm below the edge .* to ${of.above} mm above it`));
  expect(clamp).toContain(`envelope ${of.in + of.out} x ${of.front + of.behind} mm`);
  // Seen from the end of the blade: in front is to the left, the edge at 0.
  for (const id of ['post', 'sensor', 'housing']) {
    const part = box(clamp, id);
    expect(-part.left, id).toBeLessThanOrEqual(of.front);
    expect(part.right, id).toBeLessThanOrEqual(of.behind);
    expect(part.top, id).toBeLessThanOrEqual(of.above);
  }
  // The post of the one drawing is as high as that of the other.
  expect(
    heads.match(new RegExp(`y="-${of.below}" width="10" height="${of.below + of.above}"`, 'g')),
  ).toHaveLength(2);
  // The sensor hangs from a hole 40 mm above the other: the difference of the two edges.
  const holes = [...heads.matchAll(/<circle cx="27" cy="(\d+)"/g)].map(([, y]) => Number(y));
  expect(Math.max(...holes) - Math.min(...holes)).toBe(EXAMPLE_BODY[1].edgeMm[2] - EXAMPLE_BODY[0].edgeMm[2]);
});

test('the envelope stays inside the tip circle, put on either way, on blades as small as the note says', () => {
  const of = envelope();
  const [, radius, width] =
    /blades of at least (\d+) mm radius and (\d+) mm width/.exec(read('head-and-clamp.md')) ?? [];
  const [radiusMm, halfMm] = [Number(radius), Number(width) / 2];
  const tipMm = Math.sqrt(radiusMm ** 2 - halfMm ** 2);
  for (const out of [of.out, of.in]) {
    const corner = Math.hypot(tipMm - (of.fromTip - out), halfMm + of.front);
    expect(corner).toBeLessThan(radiusMm);
    // And not much smaller ones than said.
    expect(corner).toBeGreaterThan(radiusMm - 20);
  }
});

test('every lip of the height master has room for the fixture, post to the left', () => {
  const of = envelope();
  const drawing = read('height-master.svg');
  const lips = [35, 85, 75, 125].map((mm) => box(drawing, `edge-${mm}`));
  const columns = [box(drawing, 'column-1'), box(drawing, 'column-2')];
  const spots = [...(/id="spots" d="([^"]*)"/.exec(drawing)?.[1] ?? '').matchAll(/M(\d+) 0H(\d+)/g)];
  expect(spots).toHaveLength(lips.length);
  spots.forEach(([, from, to], i) => {
    const spot = (Number(from) + Number(to)) / 2;
    const lip = lips[i];
    const room = {
      ...{ left: spot - of.in, right: spot + of.out },
      ...{ bottom: lip.bottom - of.below, top: lip.bottom + of.above },
    };
    for (const thing of [...columns, ...lips.filter((other) => other !== lip)]) {
      const apart =
        thing.right <= room.left ||
        thing.left >= room.right ||
        thing.top <= room.bottom ||
        thing.bottom >= room.top;
      expect(apart, `lip at ${lip.bottom} mm`).toBe(true);
    }
    expect(room.bottom).toBeGreaterThan(0);
  });
});

test('the drawing of the height master gives the edges that the tool asks for', () => {
  const drawing = read('height-master.svg');
  for (const { lowMm, highMm } of NOMINAL_HEIGHT_MASTER.edges) {
    for (const mm of [lowMm, highMm]) expect(numbersOf(drawing, `edge-${mm}`)).toMatchObject({ y: mm });
  }
});
