import { dirname } from 'node:path';
import { chooseBay } from '../conduct/bay-in-log';
import { openJob, conductJob } from '../conduct/conduct';
import { bayLine } from '../bay/known-floor';
import { numberedError } from '../errors/errors';
import { plateText, type TargetPlate } from '../bay/target-plate';
import type { Decision, ReadingCosts } from '../ledger/events';
import { openLedger } from '../ledger/ledger';
import { findFixture, identifyPort, openLink, openSerialPort } from '../link/index';
import { profileAtHeight } from '../machines/at-height';
import { loadProfile } from '../machines/load';
import type { MachineProfile } from '../machines/profile';
import { LeftByTechnician, terminalHands } from '../terminal/hands';
import { terminalScreen } from '../terminal/screen';
import { openKeyboard } from './keyboard';
import { makeFolder, print, printJson } from './output';
import { viewOf } from './records';

export interface JobOptions {
  /** For a new job; one that is gone on with has its profile on record. */
  readonly machine?: string;
  readonly height?: number;
  readonly port?: string;
  readonly serial: string;
  readonly order: string;
  readonly technician: string;
  readonly resume?: number;
  readonly sequence: 'quick' | 'full';
  /** Of a clamping, a turn of the blade, a clamping with the deck raised, a capture; as this shop timed them. */
  readonly seconds?: ReadingCosts;
  /** Under the laser spot of every reading of a new job. */
  readonly plate?: TargetPlate;
  readonly bay: string;
  readonly log: string;
  readonly json?: boolean;
}

export const EXIT_CODES: Record<Decision, number> = { pass: 0, fail: 1, undecided: 2 };

/** Levels a machine with a real fixture and a person at the keyboard. With --json the talk goes to standard error. */
export async function job(options: JobOptions): Promise<number> {
  const profile = options.resume === undefined ? newMachine(options) : undefined;
  const path = options.port ?? (await findFixture()).path;
  const open = () => openSerialPort(path);
  // Asked first, so that no job is opened for a fixture that is not there.
  await identifyPort({ open, name: path });
  makeFolder(dirname(options.log));
  const ledger = openLedger(options.log, { writer: options.bay, now: () => new Date() });
  const keyboard = openKeyboard();
  const out = options.json === true ? process.stderr : process.stdout;
  const screen = terminalScreen({ write: (text) => void out.write(text), isTerminal: out.isTTY });
  let number = options.resume;
  try {
    number ??= openJob(ledger, {
      profile: profile ?? newMachine(options),
      serialNumber: options.serial,
      workOrder: options.order,
      technician: options.technician,
      simulated: false,
      sequence: options.sequence,
      ...(options.seconds === undefined ? {} : { readingCosts: options.seconds }),
    });
    screen.say(`Job ${number}`);
    if (options.resume === undefined) {
      const on = new Date().toISOString().slice(0, 10);
      for (const sentence of bayLine(chooseBay(ledger, number, options.bay, on), false).sentences)
        screen.say(`  ${sentence}`);
      if (options.plate !== undefined) {
        ledger.append({ type: 'plates laid', job: number, plate: options.plate });
        screen.say(`  Read with a ${plateText(options.plate)}.`);
      }
    }
    const state = await conductJob({
      ledger,
      job: number,
      openLink: (given) => openLink({ ...given, open, name: path }),
      hands: terminalHands(keyboard, (text) => screen.say(text)),
      screen,
    });
    const view = viewOf(ledger.events(number), number);
    if (options.json === true) printJson(view);
    else print('', `Job ${number} is closed. Next: swathplane sheet ${number} --log ${options.log}`);
    return EXIT_CODES[state.closed ?? 'undecided'];
  } catch (error) {
    if (error instanceof LeftByTechnician)
      throw numberedError('job left open', `job ${number ?? ''} in ${options.log}`);
    throw error;
  } finally {
    keyboard.close();
    ledger.close();
  }
}

function newMachine({ machine, height }: Pick<JobOptions, 'machine' | 'height'>): MachineProfile {
  if (machine === undefined) throw numberedError('command not understood', 'a new job needs --machine');
  const profile = loadProfile(machine);
  return profileAtHeight(profile, height ?? profile.cutHeightMm);
}
