/** The wiring note against the board layer's header and the drivers: whoever solders by it must meet this firmware. */
import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { CONVERTER_ADDRESS } from '../../../firmware/drivers/converter';
import { MEMORY_ADDRESS } from '../../../firmware/drivers/memory';
import { MOTION_ADDRESS } from '../../../firmware/drivers/motion';
import { DIVIDER } from '../../../host/gauging/error-sources';
import { PIN } from '../../emulator/wires';

const read = (path: string) => readFileSync(new URL(`../../../${path}`, import.meta.url), 'utf8');
const note = read('hardware-notes/wiring.md');
const drawing = read('hardware-notes/wiring.svg');
const header = read('firmware/boards/pico/board.h');

const pins = [...header.matchAll(/\b(PIN_[A-Z_]+) = (\d+)/g)].map(([, name = '', gpio = '']) => ({
  name,
  gpio: Number(gpio),
}));
const rows = [...note.matchAll(/^\| (PIN_[A-Z_]+) \| (\d+) \| (\d+) \|/gm)];

test('the table has every pin of the header, and no other', () => {
  expect(pins.length).toBeGreaterThan(5);
  expect(rows.map(([, name, gpio]) => ({ name, gpio: Number(gpio) }))).toEqual(pins);
});

test('legs follow the footprint', () => {
  // GP0 to GP15 run down the left edge of the footprint (from memory): legs 3, 8, 13 and 18 are grounds.
  const signals = Array.from({ length: 20 }, (_, i) => i + 1).filter((leg) => leg % 5 !== 3);
  expect(rows.map(([, , gpio, leg]) => [Number(gpio), Number(leg)])).toEqual(
    pins.map(({ gpio }) => [gpio, signals[gpio]]),
  );
});

test('the drawing names every pin', () => {
  const labels = [...drawing.matchAll(/<text[^>]*>([^<]*\bGP\d+\b[^<]*)</g)].map(([, label = '']) => label);
  for (const { name, gpio } of pins) {
    const [label, ...others] = labels.filter((text) => new RegExp(`\\bGP${gpio}\\b`).test(text));
    expect(others, name).toEqual([]);
    expect(label?.toLowerCase(), name).toContain(name.replace('PIN_', '').replace('_', ' ').toLowerCase());
  }
  expect(new Set(drawing.match(/\bGP\d+\b/g)).size).toBe(pins.length);
});

test('the emulated board has its wires on the same pins', () => {
  for (const [name, gpio] of Object.entries(PIN))
    expect(pins).toContainEqual({ name: `PIN_${name.toUpperCase()}`, gpio });
});

test('the drawing has the divider that the budget counts with', () => {
  for (const ohm of [DIVIDER.seriesOhm, DIVIDER.groundOhm])
    expect(drawing).toContain(`>${(ohm / 1000).toFixed(1)} k<`);
});

test('table and drawing give the addresses that the drivers use', () => {
  for (const address of [CONVERTER_ADDRESS, MOTION_ADDRESS, MEMORY_ADDRESS]) {
    const text = `0x${address.toString(16).toUpperCase()}`;
    expect(note).toContain(`| ${text} |`);
    expect(drawing).toContain(`>${text}<`);
  }
});
