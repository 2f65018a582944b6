/** What goes wrong on the board: each ends in a numbered fault with the laser off, and the host is told. */
import { describe, expect, it } from 'vitest';
import type { Body } from '../../protocol/wire';
import { CANNOT_RUN, ORDER, currentImage, imageWith, named, until, workbench } from './workbench';
import type { Workbench } from './workbench';

/** Of `status.resetCause` and `status.faults`, as the specification numbers them. */
const CAUSE = { watchdog: 2, crash: 3 };
const CRASHED_BIT = 2 ** 12;

const suite = { timeout: 240_000 };

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
      const link = await bench.link();
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
    const errors: number[] = [];
    const link = await bench.link({ listeners: { error: (error) => errors.push(error.number) } });
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
      expect(errors.at(-1)).toBe(number);
      expect(fixture.laserOn).toBe(false);
      expect((await status()).faults).not.toBe(0);
      await expect(arm()).rejects.toMatchObject({ number });
      mend();
      await bench.run(1300);
      expect(await status()).toMatchObject({ faults: 0, phase: 1 });
    }
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
});
