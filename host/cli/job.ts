import { dirname } from 'node:path';
import { chooseBay } from '../conduct/bay-in-log';
import { conductJob, openJob, type ConductOptions } from '../conduct/conduct';
import { bayLine } from '../bay/known-floor';
import { numberedError } from '../errors/errors';
import { plateText, type TargetPlate } from '../bay/target-plate';
import type { Decision, ReadingCosts, Use } from '../ledger/events';
import { openLedger, type Ledger } from '../ledger/ledger';
import { findFixture, identifyPort, openLink, openSerialPort } from '../link/index';
import { profileAtHeight } from '../machines/at-height';
import { parseChecklist, type Checklist } from '../machines/checklist';
import { loadProfile } from '../machines/load';
import type { MachineProfile } from '../machines/profile';
import { carriedFrom } from '../procedure/preparation';
import type { JobState } from '../procedure/state';
import { LeftByTechnician, terminalHands, type Keys } from '../terminal/hands';
import { terminalScreen, type TerminalScreen } from '../terminal/screen';
import { USE_TITLES } from '../views/words';
import { openKeyboard } from './keyboard';
import { makeFolder, printJson, readIn } from './output';
import { viewOf } from './records';

export interface JobOptions {
  /** For a new job; one that is gone on with has its profile on record. */
  readonly machine?: string;
  readonly height?: number;
  readonly port?: readonly string[];
  readonly serial: string;
  readonly order: string;
  readonly technician: string;
  readonly resume?: number;
  /** Asks for the next machine of the model when one is done. */
  readonly batch?: boolean;
  readonly use: Use;
  /** Left out: as the use has it. */
  readonly sequence?: 'quick' | 'full';
  /** The shop's own list. */
  readonly checklist?: string;
  /** No fixture is to be had: tips are read with a ruler, to this U (k = 2). */
  readonly ruler?: number;
  /** Of a clamping, a turn of the blade, a clamping with the deck raised, a capture; as this shop timed them. */
  readonly seconds?: ReadingCosts;
  /** Under the laser spot of every reading of a new job. */
  readonly plate?: TargetPlate;
  readonly bay: string;
  readonly log: string;
  readonly json?: boolean;
}

export const EXIT_CODES: Record<Decision, number> = { pass: 0, fail: 1, undecided: 2 };

/**
 * Works jobs with fixtures on ports and a person at the keyboard: one, or a batch of one model until no serial number is
 * given. Gives the exit code of the last. With --json the talk goes to standard error.
 */
export async function job(options: JobOptions): Promise<number> {
  const profile = options.resume === undefined ? newMachine(options) : undefined;
  const checklist = checklistOf(options);
  const ports = await portsOf(options);
  makeFolder(dirname(options.log));
  const ledger = openLedger(options.log, { writer: options.bay, now: () => new Date() });
  const keyboard = openKeyboard();
  const out = options.json === true ? process.stderr : process.stdout;
  const screen = terminalScreen({ write: (text) => void out.write(text), isTerminal: out.isTTY });
  let inHand = options.resume;
  try {
    let before: JobState | undefined;
    for (;;) {
      const number =
        inHand ?? open(ledger, screen, options, profile ?? newMachine(options), checklist, before);
      inHand = number;
      takeUpRuler(ledger, number, options);
      const state = await conductJob({
        ledger,
        job: number,
        openLinks: ports.map((path) => linkOpener(path)),
        hands: terminalHands(keyboard, (text) => screen.say(text)),
        screen,
      });
      const view = viewOf(ledger.events(number), number);
      if (options.json === true) printJson(view);
      else screen.say(`Job ${number} is closed. Next: swathplane sheet ${number} --log ${options.log}`);
      const serial = options.batch === true ? await nextSerial(keyboard, screen) : '';
      if (serial === '') return EXIT_CODES[state.closed ?? 'undecided'];
      before = state;
      options = { ...options, serial };
      inHand = undefined;
    }
  } catch (error) {
    if (error instanceof LeftByTechnician)
      throw numberedError('job left open', `job ${inHand ?? ''} in ${options.log}`);
    throw error;
  } finally {
    keyboard.close();
    ledger.close();
  }
}

/** Asked first, so that no job is opened for a fixture that is not there. */
async function portsOf({ port, ruler }: JobOptions): Promise<readonly string[]> {
  if (port === undefined) return ruler === undefined ? [(await findFixture()).path] : [];
  for (const path of port) await identifyPort({ open: () => openSerialPort(path), name: path });
  return port;
}

function linkOpener(path: string): ConductOptions['openLinks'][number] {
  return (given) => openLink({ ...given, open: () => openSerialPort(path), name: path });
}

function open(
  ledger: Ledger,
  screen: TerminalScreen,
  options: JobOptions,
  profile: MachineProfile,
  checklist: Checklist | undefined,
  before: JobState | undefined,
): number {
  const { use, serial, order, technician, sequence, seconds } = options;
  const number = openJob(ledger, {
    use,
    profile,
    serialNumber: serial,
    workOrder: order,
    technician,
    simulated: false,
    ...(sequence === undefined ? {} : { sequence }),
    ...(seconds === undefined ? {} : { readingCosts: seconds }),
    ...(checklist === undefined ? {} : { checklist }),
    ...(before === undefined ? {} : { carried: carriedFrom(before) }),
  });
  screen.say(`Job ${number}: ${USE_TITLES[use].toLowerCase()} of a ${profile.model}`);
  const on = new Date().toISOString().slice(0, 10);
  for (const sentence of bayLine(chooseBay(ledger, number, options.bay, on), false).sentences)
    screen.say(`  ${sentence}`);
  if (options.plate !== undefined) {
    ledger.append({ type: 'plates laid', job: number, plate: options.plate });
    screen.say(`  Read with a ${plateText(options.plate)}.`);
  }
  return number;
}

/** Once taken up the ruler stays: the readings of a job are of one kind or say where they change. */
function takeUpRuler(ledger: Ledger, job: number, { ruler }: JobOptions): void {
  const events = ledger.events(job).map((e) => e.event);
  if (ruler === undefined || events.some((e) => e.type === 'ruler taken up')) return;
  ledger.append({ type: 'ruler taken up', job, expandedMm: ruler });
}

function checklistOf({ checklist, use }: JobOptions): Checklist | undefined {
  if (checklist === undefined) return undefined;
  const list = parseChecklist(readIn(checklist), checklist);
  return list.uses === undefined || list.uses.includes(use) ? list : undefined;
}

async function nextSerial(keyboard: Keys, screen: TerminalScreen): Promise<string> {
  screen.say('');
  screen.say('Next machine of the batch: scan or type its serial number   [return alone: the batch is done]');
  return ((await keyboard.line('')) ?? '').trim();
}

function newMachine({ machine, height }: Pick<JobOptions, 'machine' | 'height'>): MachineProfile {
  if (machine === undefined) throw numberedError('command not understood', 'a new job needs --machine');
  const profile = loadProfile(machine);
  return profileAtHeight(profile, height ?? profile.cutHeightMm);
}
