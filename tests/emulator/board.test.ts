/** What the board layer sets and does beside the program: bus timing, causes of a start, sleep. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { encodeFrame } from '../../protocol/wire';
import { startChip } from './chip';
import type { Chip, Remains } from './chip';
import { CANNOT_RUN, currentImage, named, workbench } from './workbench';

const NANOS_PER_CLOCK = 8;
const BY_WATCHDOG = 1;
/** Of `status.resetCause`, as the specification numbers them. */
const CAUSE = { power: 0, watchdog: 2 };
const TIMER = 0x40054;
const ALARM_0 = 0x10;

interface Peripheral {
  writeUint32(offset: number, value: number): void;
}

/** Calls `seen` before each write to a register. */
function watch(peripheral: Peripheral, seen: (offset: number, value: number) => void): void {
  const write = peripheral.writeUint32.bind(peripheral);
  peripheral.writeUint32 = (offset, value) => {
    seen(offset, value);
    write(offset, value);
  };
}

function started(remains?: Remains): Chip {
  return startChip({ image: readFileSync(currentImage().bin), remains, onReset: () => undefined });
}

describe.skipIf(CANNOT_RUN !== undefined)(named('the board layer'), { timeout: 180_000 }, () => {
  it('times the bus as the fast mode of the I2C-bus specification wants it', () => {
    const chip = started();
    const registers = new Map<number, number>();
    watch(chip.mcu.i2c[0], (offset, value) => registers.set(offset, value));
    chip.run(60_000);
    const clocks = (offset: number) => registers.get(offset) ?? NaN;
    // Controller: clocks high, low, of held data and of the spike filter (RP2040 data sheet, 4.3, from memory).
    const highNs = (clocks(0x1c) + clocks(0xa0) + 7) * NANOS_PER_CLOCK;
    const lowNs = (clocks(0x20) + 1) * NANOS_PER_CLOCK;
    const holdNs = clocks(0x7c) * NANOS_PER_CLOCK;
    // UM10204, table 10, fast mode, from memory: 400 kHz, low 1.3 us, high 0.6 us, data valid within 0.9 us, set up 0.1 us
    // before the clock rises, edges up to 0.3 us; its note: 0.3 us of hold to bridge the falling edge; 50 ns of spikes.
    expect(1e6 / (highNs + lowNs)).toBeLessThanOrEqual(400);
    expect(lowNs).toBeGreaterThanOrEqual(1300);
    expect(highNs).toBeGreaterThanOrEqual(600);
    expect(holdNs).toBeGreaterThanOrEqual(300);
    expect(holdNs + 300).toBeLessThanOrEqual(900);
    expect(lowNs - holdNs - 300).toBeGreaterThanOrEqual(100);
    expect(clocks(0xa0) * NANOS_PER_CLOCK).toBeLessThanOrEqual(50);
    expect(chip.complaints).toEqual([]);
  });

  it('tells a bite of the watchdog from the start that the boot ROM makes through it after an update', () => {
    const cause = (chip: Chip) => chip.mcu.sram[currentImage().symbols.get('reset_cause')! - 0x20000000];
    const blank: Remains = { ram: new Uint8Array(0x42000), scratch: new Uint32Array(8), reason: BY_WATCHDOG };
    const updated = started(blank);
    updated.run(60_000);
    expect(cause(updated)).toBe(CAUSE.power);
    const { ram } = blank;
    ram.set(updated.mcu.sram);
    const scratch = (updated.mcu.peripherals[0x40058] as unknown as { scratchData: Uint32Array }).scratchData;
    const bitten = started({ ram, scratch: scratch.slice(), reason: BY_WATCHDOG });
    bitten.run(60_000);
    expect(cause(bitten)).toBe(CAUSE.watchdog);
  });

  it('armed as soon as it answers, in a head that lies on its side, it never lights the laser', async () => {
    const bench = await workbench();
    const { fixture } = bench;
    bench.scene = { ...bench.scene, forceG: [0, Math.sin(1), Math.cos(1)] };
    fixture.powerCycle();
    const body = { job: 1, step: 1, purpose: 0, liveHz: 0, standardErrorUm: 15 };
    fixture.uartSend(encodeFrame({ name: 'arm', sequence: 3, body }));
    await bench.run(400);
    expect(fixture.laserLit).toBe(0);
    bench.scene = { ...bench.scene, forceG: [0, 0, 1] };
    await bench.run(200);
    expect(fixture.laserLit).toBe(1);
  });

  it('never sleeps toward a time that is over, whatever comes between the look at the clock and the alarm', async () => {
    const bench = await workbench();
    const { fixture } = bench;
    const { mcu } = fixture.chip;
    let late = 0;
    // Every fourth alarm is set after what it was to wait for.
    watch(mcu.peripherals[TIMER], (offset) => {
      if (offset !== ALARM_0) return;
      late += 1;
      if (late % 4 === 0) (mcu.clock as unknown as { tick(nanos: number): void }).tick(5_000_000);
    });
    await bench.run(800);
    expect(late).toBeGreaterThan(100);
    expect(fixture.resets).toEqual([]);
    fixture.uartSend(encodeFrame({ name: 'report-status', sequence: 3, body: {} }));
    await bench.run(100);
    expect(fixture.uartReceived.length).toBeGreaterThan(0);
  });
});
