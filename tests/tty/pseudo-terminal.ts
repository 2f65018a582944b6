/** A real pseudo-terminal of the system, without a shell: the test holds the master side, the host opens the path. */
import { createRequire } from 'node:module';
import { ReadStream } from 'node:tty';

export interface PseudoTerminal {
  /** What a serial port library opens. */
  readonly path: string;
  write(bytes: readonly number[]): void;
  /** Takes the device away, as a pulled USB plug does. */
  hangUp(): void;
}

interface NativeTerminals {
  open(columns: number, rows: number): { master: number; slave: number; pty: string };
}

const load = createRequire(import.meta.url);
const native = (
  load('@lydell/node-pty/requireBinary') as { requireBinary: (file: string) => NativeTerminals }
).requireBinary('pty.node');

export function openPseudoTerminal(onBytes: (bytes: readonly number[]) => void): PseudoTerminal {
  const opened = native.open(80, 24);
  const master = new ReadStream(opened.master);
  // The slave is held open so that the master does not report an end whenever no host is connected. Nothing reads from
  // it here: a reader would take the bytes that are meant for the host.
  const slave = new ReadStream(opened.slave);
  slave.setRawMode(true);
  master.on('data', (chunk) => onBytes([...chunk]));
  // After the hang-up a read that was under way fails, which is what was asked for.
  master.on('error', () => {});
  return {
    path: opened.pty,
    write: (bytes) => void master.write(Uint8Array.from(bytes)),
    hangUp: () => {
      master.destroy();
      slave.destroy();
    },
  };
}
