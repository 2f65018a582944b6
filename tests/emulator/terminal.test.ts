/**
 * The tool's own command, in a process of its own, on a real pseudo-terminal with the emulated board behind it. The command
 * lives by the computer's clock and the board by its own, slower one; the link's patience has to bridge that.
 */
import { execFile } from 'node:child_process';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openPseudoTerminal } from '../tty/pseudo-terminal';
import { CANNOT_RUN, named, until, workbench } from './workbench';

const root = join(import.meta.dirname, '../..');
const SLICE_US = 2000;

describe.skipIf(CANNOT_RUN !== undefined)(named('the image on a terminal'), { timeout: 120_000 }, () => {
  it('is found by `swathplane fixture`, names itself; noise before it does no harm', async () => {
    const bench = await workbench();
    const { fixture } = bench;
    await bench.within(until(() => fixture.device !== undefined));
    const port = await bench.within(fixture.openPort());
    const tty = openPseudoTerminal((bytes) => port.write(Buffer.from(bytes)));
    port.on('data', (chunk: Buffer) => tty.write([...chunk]));
    port.write(Buffer.from(Array.from({ length: 700 }, (_, i) => (i * 89 + 17) % 256)));
    await bench.run(300);
    let pumping = true;
    const pump = () => {
      bench.pass(SLICE_US);
      if (pumping) setImmediate(pump);
    };
    pump();
    const said = await new Promise<{ code: number | null; text: string }>((resolve) => {
      const command = [join(root, 'build/host/swathplane.js'), 'fixture', '--port', tty.path];
      const child = execFile(process.execPath, command, { cwd: root }, (_, stdout, stderr) =>
        resolve({ code: child.exitCode, text: stdout + stderr }),
      );
    });
    pumping = false;
    tty.hangUp();
    port.destroy();
    expect(said.text).toContain('SWP-0000000000000000');
    expect(said.text).toContain('RP2040');
    expect(said.code, said.text).toBe(0);
    expect([fixture.resets, fixture.complaints]).toEqual([[], []]);
  });
});
