/**
 * The firmware's drivers against the register-level parts. Register addresses, codes and sensitivities below are those of
 * the public data sheets of the classes (ADS1115, LSM6DS3, 24-series FRAM), from memory; the driver and the part were
 * written from them apart, with no code in common.
 */
import { expect, it } from 'vitest';
import { createConverter as createConverterDriver } from '../../../firmware/drivers/converter';
import { createMemoryPart as createMemoryDriver } from '../../../firmware/drivers/memory';
import { createMotionPart as createMotionDriver } from '../../../firmware/drivers/motion';
import { createPartsBus } from '../../../host/simulation/parts/bus';
import { createConverter } from '../../../host/simulation/parts/converter';
import { createMemoryPart } from '../../../host/simulation/parts/memory';
import { createMotionPart } from '../../../host/simulation/parts/motion';
import { seededRandom } from '../../../host/simulation/random';
import { LEVEL_SCENE } from '../firmware/bench';

const NO_ERRORS = { zeroForceMg: [0, 0, 0], zeroTurnMdegS: [0, 0, 0], temperatureC: 0 } as const;
const still = {
  ...LEVEL_SCENE,
  forceG: [0.1, -0.2, 0.97],
  turnRateDegS: [10, -20, 90],
  temperatureC: 31.5,
} as const;

function mean(count: number, draw: () => number): number {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += draw();
  return sum / count;
}

it('the converter reads a voltage at 125 uV a count, both signs, no newer than its conversions', () => {
  let nowUs = 0;
  let volts = 1.5;
  const part = createConverter(
    () => nowUs,
    (input) => (input === 0 ? volts : 3),
    seededRandom(1),
  );
  const driver = createConverterDriver(createPartsBus([part]));
  part.powerOn();
  expect(driver.start()).toBe(true);
  const read = () => {
    nowUs += 2000;
    return driver.read()!;
  };
  expect(mean(200, read)).toBeCloseTo(1.5 / 125e-6, 0);
  volts = -0.25;
  expect(mean(200, read)).toBeCloseTo(-0.25 / 125e-6, 0);

  // 860 conversions a second: within 1.16 ms of the last one the register does not change.
  read();
  const before = driver.read();
  volts = 2;
  expect(driver.read()).toBe(before);
  nowUs += 1200;
  expect(driver.read()).toBeGreaterThan(15000);
});

it('a single shot converts once, and the differential inputs subtract', () => {
  let nowUs = 0;
  const part = createConverter(
    () => nowUs,
    (input) => [2, 0.5, 0, 0][input],
    seededRandom(2),
  );
  part.powerOn();
  const bus = createPartsBus([part]);
  // Start, input 0 against input 1, 4.096 V, single shot, 128 a second.
  bus.transfer(0x48, [0x01, 0x83, 0x83], 0);
  expect(bus.transfer(0x48, [0x01], 1)![0] & 0x80).toBe(0);
  nowUs += 7813;
  expect(bus.transfer(0x48, [0x01], 1)![0] & 0x80).toBe(0x80);
  const [high, low] = bus.transfer(0x48, [0x00], 2)!;
  expect(Math.abs(high * 256 + low - 1.5 / 125e-6)).toBeLessThan(5);
  nowUs += 100_000;
  expect(bus.transfer(0x48, [0x00], 2)).toEqual([high, low]);
});

it('a converter that lost its settings gives no reading until it is started anew; a voltage of nothing is one', () => {
  let nowUs = 0;
  const part = createConverter(
    () => nowUs,
    () => 0,
    seededRandom(5),
  );
  const driver = createConverterDriver(createPartsBus([part]));
  const read = () => {
    nowUs += 2000;
    return driver.read();
  };
  expect(driver.start()).toBe(true);
  expect(Array.from({ length: 20 }, read)).toContain(0);
  part.powerOn();
  expect(Array.from({ length: 20 }, read).every((counts) => counts === undefined)).toBe(true);
  expect(driver.start()).toBe(true);
  expect(read()).toBeDefined();
});

it('the motion part is recognised and gives ug, mdeg/s and centidegrees', () => {
  let nowUs = 0;
  const part = createMotionPart({ nowUs: () => nowUs, scene: () => still }, NO_ERRORS, seededRandom(3));
  const driver = createMotionDriver(createPartsBus([part]));
  expect(driver.start()).toBe(true);
  const sample = {
    temperatureCentiC: 0,
    rateXMdegS: 0,
    rateYMdegS: 0,
    rateZMdegS: 0,
    forceXUg: 0,
    forceYUg: 0,
    forceZUg: 0,
  };
  const average = (name: keyof typeof sample) =>
    mean(400, () => {
      nowUs += 4000;
      expect(driver.read(sample)).toBe(true);
      return sample[name];
    });
  // Tolerances: four standard errors of the part's noise, or one count of rounding.
  expect(Math.abs(average('forceXUg') - 100_000)).toBeLessThan(400);
  expect(Math.abs(average('forceYUg') + 200_000)).toBeLessThan(400);
  expect(Math.abs(average('forceZUg') - 970_000)).toBeLessThan(400);
  expect(Math.abs(average('rateXMdegS') - 10_000)).toBeLessThan(30);
  expect(Math.abs(average('rateYMdegS') + 20_000)).toBeLessThan(30);
  expect(Math.abs(average('rateZMdegS') - 90_000)).toBeLessThan(30);
  expect(Math.abs(average('temperatureCentiC') - 3150)).toBeLessThan(3);

  // A part that lost its settings shows zeros, which are no reading.
  part.powerOn();
  nowUs += 4000;
  const before = { ...sample };
  expect(driver.read(sample)).toBe(false);
  expect(sample).toEqual(before);
  expect(driver.start()).toBe(true);
  nowUs += 4000;
  expect(driver.read(sample)).toBe(true);
});

it("another part at the motion part's address is refused", () => {
  const part = createMotionPart({ nowUs: () => 0, scene: () => still }, NO_ERRORS, seededRandom(4));
  const impostor = { ...part, read: () => 0x6a };
  expect(createMotionDriver(createPartsBus([impostor])).start()).toBe(false);
});

it('the memory keeps bytes across pieces and power, and wraps at its end', () => {
  const content = new Uint8Array(32768);
  const driver = createMemoryDriver(createPartsBus([createMemoryPart(content)]));
  const bytes = Array.from({ length: 200 }, (_, i) => (i * 37) % 256);
  expect(driver.write(32700, bytes)).toBe(true);
  expect([content[32700], content[32767], content[0], content[131]]).toEqual([
    0,
    bytes[67],
    bytes[68],
    bytes[199],
  ]);
  const again = createMemoryDriver(createPartsBus([createMemoryPart(content)]));
  expect(again.read(32700, 200)).toEqual(bytes);
});

it('a missing part and a held bus are told by every driver', () => {
  const memory = createMemoryPart(new Uint8Array(32768));
  const bus = createPartsBus([memory]);
  expect(createConverterDriver(bus).read()).toBeUndefined();
  expect(createMotionDriver(bus).start()).toBe(false);
  bus.detach(0x50, true);
  expect(createMemoryDriver(bus).read(0, 1)).toBeUndefined();
  bus.detach(0x50, false);
  bus.hold(true);
  expect(createMemoryDriver(bus).write(0, [1])).toBe(false);
  expect(bus.recover()).toBe(false);
  bus.hold(false);
  expect(createMemoryDriver(bus).write(0, [1])).toBe(true);
});
