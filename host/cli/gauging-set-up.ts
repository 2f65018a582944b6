/** What every command with a session needs: log, port or simulated bench, hands and screen. */
import { dirname } from 'node:path';
import type { GaugingOptions } from '../conduct/gauging-session';
import { numberedError } from '../errors/errors';
import { openLedger } from '../ledger/ledger';
import { findFixture, openLink, openSerialPort } from '../link/index';
import { LeftByTechnician } from '../terminal/hands';
import { gaugingHands, gaugingScreen } from '../terminal/gauging';
import { openKeyboard } from './keyboard';
import { makeFolder } from './output';
import { openSimulatedBench } from './simulated-bench';

export interface SessionOptions {
  readonly port?: string;
  /** Seed of a simulated fixture instead of one on a port. */
  readonly simulated?: number;
  readonly technician: string;
  readonly resume?: number;
  /** Name of the writer of the log. */
  readonly bay: string;
  readonly log: string;
  readonly json?: boolean;
}

/** Runs a session's command with everything open and closes it again. Throws 483 when the technician leaves. */
export async function withFixture<T>(
  options: SessionOptions,
  use: (gauging: GaugingOptions, say: (text: string) => void) => Promise<T>,
): Promise<T> {
  const path =
    options.simulated === undefined ? (options.port ?? (await findFixture()).path) : 'simulated port';
  makeFolder(dirname(options.log));
  const ledger = openLedger(options.log, { writer: options.bay, now: () => new Date() });
  const out = options.json === true ? process.stderr : process.stdout;
  const screen = gaugingScreen({ write: (text) => void out.write(text), isTerminal: out.isTTY });
  const number = options.resume ?? ledger.nextJob();
  let close = () => {};
  try {
    if (options.simulated === undefined) {
      const keyboard = openKeyboard();
      close = () => keyboard.close();
      const hands = gaugingHands(keyboard, (text) => screen.say(text));
      return await use(
        {
          ledger,
          openLink: (given) => openLink({ ...given, open: () => openSerialPort(path), name: path }),
          hands,
          screen,
        },
        (text) => screen.say(text),
      );
    }
    const bench = await openSimulatedBench(options.simulated, number, options.log);
    close = () => bench.close();
    const open = () => bench.fixture.openPort();
    return await use(
      { ledger, openLink: (given) => openLink({ ...given, open, name: path }), hands: bench.hands, screen },
      (text) => screen.say(text),
    );
  } catch (error) {
    if (error instanceof LeftByTechnician)
      throw numberedError('session left open', `session ${number} in ${options.log}`);
    throw error;
  } finally {
    close();
    ledger.close();
  }
}
