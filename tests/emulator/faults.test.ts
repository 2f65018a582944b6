/** What goes wrong on the board: each ends in a numbered fault with the laser off, and the host is told. */
import { describe, expect, it } from 'vitest';
import type { Body, Message } from '../../protocol/wire';
import type { NumberedError } from '../../host/errors/errors';
import { openJournal } from '../../firmware/sensing/journal';
import { createMemoryPart as createMemoryDriver } from '../../firmware/drivers/memory';
import { createPartsBus } from '../../host/simulation/parts/bus';
import { createMemoryPart } from '../../host/simulation/parts/memory';
import { crc32c, encodeFrame } from '../../protocol/wire';
import { speaker } from './power-cuts';
import {
  CANNOT_RUN,
  ORDER,
  currentImage,
  factoryMemory,
  imageWith,
  named,
  until,
  workbench,
} from './workbench';
import type { Workbench } from './workbench';

/** Of `status.resetCause` and `status.faults`, as the specification numbers them. */
const CAUSE = { watchdog: 2, crash: 3 };
const CRASHED_BIT = 2 ** 12;

const suite = { timeout: 600_000 };

/**
 * The image with another chunk: the very bundle, but that something happens once, before its step, when the laser has
 * been lit for 50 steps after a start by power.
 */
function imageThat(happens: string): Uint8Array {
  return imageWith(
    (bundle) => `
    local lit, steps, setLaser = false, 0, board.setLaser
    board.setLaser = function(on) lit = on; setLaser(on) end
    local fixture = (function(...) ${bundle} end)(...)
    return { step = function()
      if lit then steps = steps + 1 end
      if steps == 50 and board.resetCause == 0 then ${happens} end
      return fixture.step()
    end }`,
  );
}

/** Text that the chip keeps over a restart for whoever looks with a debugger. */
function crashText(bench: Workbench): string {
  const at = currentImage().symbols.get('crash_text')! - 0x20000000;
  const bytes = bench.fixture.chip.mcu.sram.slice(at, at + 120);
  return Buffer.from(bytes.subarray(0, bytes.indexOf(0))).toString();
}

async function ready(bench: Workbench): Promise<void> {
  await bench.within(until(() => bench.fixture.device !== undefined));
}

describe.skipIf(CANNOT_RUN !== undefined)(named('faults of the program'), suite, () => {
  it.each([
    ['a Lua error', 'error("on purpose")', CAUSE.crash, /on purpose/],
    ['a hung loop', 'while true do end', CAUSE.watchdog, /^$/],
    [
      'no memory left',
      'local t = {} while true do t[#t + 1] = string.rep("x", 1000) .. #t end',
      CAUSE.crash,
      /^out of memory$/,
    ],
    [
      'a Lua stack without end',
      'local function f(n) return 1 + f(n + 1) end f(1)',
      CAUSE.crash,
      /stack overflow|error in error handling|out of memory/,
    ],
    [
      'a C stack without end',
      'local function f() return (string.gsub("x", "x", f)) end f()',
      CAUSE.crash,
      /C stack overflow|error in error handling/,
    ],
  ])(
    '%s restarts the board with the laser off, and the host is told why',
    async (_, happens, cause, text) => {
      const bench = await workbench({ image: imageThat(happens) });
      const { fixture } = bench;
      await ready(bench);
      const told: (NumberedError | undefined)[] = [];
      const link = await bench.link({
        listeners: { error: (error) => told.push(error), back: ({ restarted }) => told.push(restarted) },
      });
      await bench.within(link.request('arm', { ...ORDER, liveHz: 0 }));
      await bench.within(
        until(() => fixture.resets.length > 0),
        3000,
      );
      expect(fixture.laserLit).toBe(1);
      expect(fixture.laserOn).toBe(false);
      const lost = fixture.nowUs;
      await bench.within(
        until(() => link.connected()),
        8000,
      );
      const status = await bench.within(link.request('report-status', {}));
      expect(status).toMatchObject({ resetCause: cause, laserOn: 0 });
      expect(status.faults).toBe(cause === CAUSE.crash ? CRASHED_BIT : 0);
      expect(crashText(bench)).toMatch(text);
      // What the host shows: that the fixture began anew, and after a failed program its fault; each with what to do.
      await bench.run(1500);
      const numbers = cause === CAUSE.crash ? [112, 210] : [210];
      for (const number of numbers) {
        const shown = told.find((error) => error?.number === number);
        expect(shown?.message, `E${number}`).toMatch(/^E\d+: \w.* \w/);
        expect(shown?.nextStep, `E${number}`).toMatch(/\w+ \w+/);
      }
      expect(fixture.nowUs - lost).toBeLessThan(4_000_000);
      expect([fixture.resets.length, fixture.laserLit]).toEqual([1, 1]);
      await bench.within(link.close());
      expect(fixture.complaints).toEqual([]);
    },
  );
});

describe.skipIf(CANNOT_RUN !== undefined)(named('faults of the parts'), suite, () => {
  it('names a missing part and a held bus, keeps the laser off, and goes on when it is mended', async () => {
    const bench = await workbench();
    const { fixture } = bench;
    await ready(bench);
    const errors: NumberedError[] = [];
    const link = await bench.link({ listeners: { error: (error) => errors.push(error) } });
    const status = (): Promise<Body<'status'>> => bench.within(link.request('report-status', {}));
    const arm = () => bench.within(link.request('arm', { ...ORDER, liveHz: 0 }));
    const faults: [() => void, () => void, number][] = [
      [() => fixture.break('converter'), () => fixture.repair('converter'), 106],
      [() => fixture.break('motion'), () => fixture.repair('motion'), 107],
      [() => fixture.holdBus(Infinity), () => fixture.holdBus(0), 111],
    ];
    for (const [fail, mend, number] of faults) {
      await arm();
      expect(fixture.laserOn).toBe(true);
      fail();
      await bench.run(300);
      expect(errors.at(-1)?.number).toBe(number);
      // What the host shows: what is the matter, and what to do.
      expect(errors.at(-1)?.message).toMatch(/^E\d+: \w.* \w/);
      expect(errors.at(-1)?.nextStep).toMatch(/unplug/);
      expect(fixture.laserOn).toBe(false);
      expect((await status()).faults).not.toBe(0);
      await expect(arm()).rejects.toMatchObject({ number });
      mend();
      await bench.run(1300);
      expect(await status()).toMatchObject({ faults: 0, phase: 1 });
    }
    // The memory is only spoken to when there is something to keep: its loss costs the capture, and says so.
    await arm();
    fixture.break('memory');
    await bench.within(link.request('capture', {}));
    await bench.within(
      until(() => errors.at(-1)?.number === 108),
      9000,
    );
    await bench.run(20);
    expect(fixture.laserOn).toBe(false);
    await expect(arm()).rejects.toMatchObject({ number: 108 });
    fixture.repair('memory');
    await bench.run(1300);
    expect(await status()).toMatchObject({ faults: 0, phase: 1, unacknowledged: 0 });
    expect(bench.captures).toEqual([]);
    // A part that was cut off in the middle of a byte lets go after a few clocks: nobody notices but for the pause.
    await arm();
    fixture.holdBus(6);
    await bench.run(300);
    expect((await status()).faults).toBe(0);
    expect(fixture.laserOn).toBe(true);
    expect(fixture.resets).toEqual([]);
    await bench.within(link.close());
    expect(fixture.complaints).toEqual([]);
  });

  it('a part that lost its settings is set again: no height is made of its zeros', async () => {
    const bench = await workbench();
    const { fixture } = bench;
    await ready(bench);
    const live: Body<'live'>[] = [];
    const link = await bench.link({ listeners: { live: (body) => live.push(body) } });
    // What is left when the zero is taken from no force at all points straight up: to be believed, were it one.
    for (const headPosition of [0, 1]) {
      const found = await bench.within(link.request('read-calibration', { headPosition }));
      const zero = { gravityBiasX: 0, gravityBiasY: 0, gravityBiasZ: -15_000 };
      await bench.within(link.request('write-calibration', { ...found, ...zero }));
    }
    await bench.within(link.request('arm', ORDER));
    await bench.run(500);
    const height = live.at(-1)!.height;
    // A gyro that shows nothing is believed after two seconds.
    for (const [part, ms] of [
      ['motion', 2300],
      ['converter', 300],
    ] as const) {
      fixture.sag(part);
      await bench.run(200);
      live.length = 0;
      await bench.run(ms);
      expect(live.length).toBeGreaterThan(10);
      for (const { height: now } of live) expect(Math.abs(now - height)).toBeLessThan(1000);
    }
    expect(fixture.laserOn).toBe(true);
    bench.scene = { ...bench.scene, forceG: [0, Math.sin(0.7), Math.cos(0.7)] };
    await bench.run(200);
    expect(fixture.laserOn).toBe(false);
    expect(await bench.within(link.request('report-status', {}))).toMatchObject({ faults: 0, phase: 2 });
    await bench.within(link.close());
    expect(fixture.complaints).toEqual([]);
  });

  it('starts without its memory, says so, and comes back with it', async () => {
    const bench = await workbench();
    const { fixture } = bench;
    fixture.break('memory');
    fixture.powerCycle();
    await ready(bench);
    const received: Message[] = [];
    const wire = await speaker(bench, (message) => received.push(message));
    expect(await wire('identify', {})).toMatchObject({ bootCount: 0 });
    await bench.run(100);
    expect(await wire('report-status', {})).toMatchObject({ phase: 4, faults: 2 ** 8, laserOn: 0 });
    expect(await wire('arm', ORDER)).toMatchObject({ code: 108 });
    expect(await wire('resend', {})).toMatchObject({ code: 108 });
    fixture.repair('memory');
    await bench.run(1500);
    expect(await wire('report-status', {})).toMatchObject({ phase: 1, faults: 0 });
    expect(await wire('read-calibration', { headPosition: 1 })).toMatchObject({ headPosition: 1 });
    expect(fixture.laserLit).toBe(0);
  });

  it('out of range: no capture, and after 30 s error 104 that names the reason', async () => {
    // Ten samples a second are enough to see nothing.
    const bench = await workbench({ lateWakeUs: 100_000 });
    await ready(bench);
    await bench.run(3000);
    const errors: NumberedError[] = [];
    const link = await bench.link({ listeners: { error: (error) => errors.push(error) } });
    bench.scene = { ...bench.scene, distanceMm: undefined };
    await bench.within(link.request('arm', { ...ORDER, liveHz: 0 }));
    await bench.within(link.request('capture', {}));
    await bench.within(
      until(() => errors.length > 0),
      32_000,
    );
    expect(errors[0]).toMatchObject({ number: 104 });
    expect(errors[0]?.message).toContain('out of range');
    expect(bench.captures).toEqual([]);
    await bench.within(link.request('disarm', {}));
    expect(bench.fixture.laserOn).toBe(false);
    await bench.within(link.close());
  });

  it('a full journal refuses with 105, is read in time at the start, and is fetched whole', async () => {
    const memory = await fullMemory();
    const bench = await workbench({ memory });
    const { fixture } = bench;
    await ready(bench);
    const answers: Message[] = [];
    const wire = await speaker(bench, (message) => answers.push(message));
    expect(await wire('report-status', {})).toMatchObject({ unacknowledged: 64, journalFree: 0 });
    // The request waited for the end of phase starting, which the specification allows 1 s.
    expect(fixture.nowUs).toBeLessThan(1_000_000);
    await wire('arm', { ...ORDER, liveHz: 0 });
    expect(await wire('capture', {})).toMatchObject({ code: 105 });
    bench.scene = { ...bench.scene, buttonDown: true };
    await bench.run(100);
    bench.scene = { ...bench.scene, buttonDown: false };
    await bench.within(until(() => answers.some((m) => m.name === 'error' && m.sequence === 0)));
    await wire('disarm', {});
    expect(fixture.laserOn).toBe(false);
    fixture.powerCycle();
    await ready(bench);
    const link = await bench.link();
    await bench.within(
      until(() => bench.captures.length === 64),
      9000,
    );
    await bench.run(200);
    expect(bench.captures.map((capture) => capture.capture)).toEqual(
      Array.from({ length: 64 }, (_, i) => i + 1),
    );
    expect(await bench.within(link.request('report-status', {}))).toMatchObject({
      unacknowledged: 0,
      journalFree: 64,
    });
    await bench.within(link.close());
  });
});

/** What 64 captures leave that nobody fetched. */
async function fullMemory(): Promise<Uint8Array> {
  const content = await factoryMemory();
  const opening = openJournal(createMemoryDriver(createPartsBus([createMemoryPart(content)])), crc32c);
  let journal = opening.proceed();
  while (journal === 'more') journal = opening.proceed();
  if (journal === 'unreachable') throw new Error('no memory');
  for (let capture = 1; capture <= 64; capture++)
    journal.keep(encodeFrame({ name: 'captured', sequence: 0, body: { ...SOME_CAPTURE, capture } }));
  return content;
}

const SOME_CAPTURE: Body<'captured'> = {
  ...{ capture: 0, bootCount: 1, uptimeMs: 1000, job: 12, step: 3, purpose: 0, trigger: 0, headPosition: 0 },
  ...{ calibrationVersion: 1, samples: 40, countsMean: 4_000_000, countsSd: 9000, drift: 0 },
  ...{ gravityX: 1, gravityY: 1, gravityZ: 1_000_000, turned: 0, temperature: 2100, waitedMs: 200 },
  ...{ distance: 90_000, height: 60_000 },
};
