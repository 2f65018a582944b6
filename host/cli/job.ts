import { dirname } from 'node:path';
import { conductJob, type ConductOptions } from '../conduct/conduct';
import { openJobInBay } from '../conduct/open-job';
import { signedIn } from '../conduct/people-in-log';
import { bayLine } from '../bay/known-floor';
import { NumberedError, numberedError } from '../errors/errors';
import { plateText, type TargetPlate } from '../bay/target-plate';
import type { Decision, ReadingCosts, Use } from '../ledger/events';
import { openLedger, type Ledger } from '../ledger/ledger';
import { findFixture, identifyPort, openLink, openSerialPort } from '../link/index';
import { profileAtHeight } from '../machines/at-height';
import { checklistFor, type Checklist } from '../machines/checklist';
import { machineFromTape } from '../machines/from-tape';
import { loadProfile } from '../machines/load';
import { isOnShelf, putOnShelf } from '../machines/shelf';
import { FAMILIES, type MachineProfile } from '../machines/profile';
import { carriedFrom } from '../procedure/preparation';
import type { JobState } from '../procedure/state';
import { LeftByTechnician, terminalAsking, terminalHands, type Keys } from '../terminal/hands';
import { terminalScreen, type TerminalScreen } from '../terminal/screen';
import { askDimensions } from '../terminal/tape-questions';
import { shopTrustLines } from '../views/gauging-words';
import { USE_TITLES } from '../views/words';
import { checklistIn } from './checklist';
import { copying } from './copying';
import { openKeyboard } from './keyboard';
import { installedSolver } from './installed-solver';
import { makeFolder, printJson } from './output';
import { viewOf } from './records';

export interface JobOptions {
  /** For a new job; one that is gone on with has its profile on record. */
  readonly machine?: string;
  readonly height?: number;
  readonly port?: readonly string[];
  readonly serial: string;
  readonly order: string;
  readonly technician: string;
  readonly badge?: string;
  readonly resume?: number;
  /** Asks for the next machine of the model when one is done. */
  readonly batch?: boolean;
  /** A machine never seen before: its dimensions are asked for. */
  readonly walkUp?: boolean;
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
  /** With the copies of all bays; left out: the one of the environment, or none. */
  readonly database?: string;
  readonly json?: boolean;
}

export const EXIT_CODES: Record<Decision, number> = { pass: 0, fail: 1, undecided: 2 };

/**
 * Works jobs with fixtures on ports and a person at the keyboard: one, or a batch of one model until no serial number is
 * given. Gives the exit code of the last. With --json the talk goes to standard error.
 */
export async function job(options: JobOptions): Promise<number> {
  const isNew = options.resume === undefined;
  const listed = isNew && options.walkUp !== true ? listedMachine(options) : undefined;
  const checklist = checklistIn(options.checklist);
  const ports = await portsOf(options);
  makeFolder(dirname(options.log));
  const ledger = openLedger(options.log, { writer: options.bay, now: () => new Date() });
  const keyboard = openKeyboard();
  const out = options.json === true ? process.stderr : process.stdout;
  const screen = terminalScreen({ write: (text) => void out.write(text), isTerminal: out.isTTY });
  const say = (text: string) => screen.say(text);
  const copies = await copying(options, say);
  let inHand = options.resume;
  try {
    const profile = isNew && listed === undefined ? await walkUpMachine(keyboard, say) : listed;
    let before: JobState | undefined;
    for (;;) {
      const number = inHand ?? open(ledger, screen, options, known(profile), checklist, before);
      inHand = number;
      takeUpRuler(ledger, number, options);
      const state = await conductJob({
        solver: installedSolver(),
        ledger,
        job: number,
        openLinks: ports.map((path) => linkOpener(path)),
        hands: terminalHands(keyboard, say),
        screen,
      });
      const view = viewOf(ledger.events(number), number);
      if (options.json === true) printJson(view);
      else screen.say(`Job ${number} is closed. Next: swathplane sheet ${number} --log ${options.log}`);
      if (options.walkUp === true && profile !== undefined)
        await offerProfile(profile, options, keyboard, say);
      const serial = options.batch === true ? await nextSerial(keyboard, screen) : '';
      if (serial === '') return EXIT_CODES[state.closed ?? 'undecided'];
      before = state;
      options = { ...options, serial };
      inHand = undefined;
    }
  } catch (error) {
    if (error instanceof LeftByTechnician)
      throw numberedError(
        'job left open',
        inHand === undefined ? 'no job was begun' : `job ${inHand} in ${options.log}`,
      );
    throw error;
  } finally {
    keyboard.close();
    await copies.stop();
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
  const { use, serial, order, sequence, seconds, bay, plate, ruler: rulerMm } = options;
  const details = {
    use,
    profile,
    serialNumber: serial,
    workOrder: order,
    ...signedIn(ledger, options),
    simulated: false,
    ...(sequence === undefined ? {} : { sequence }),
    ...(seconds === undefined ? {} : { readingCosts: seconds }),
    ...checklistFor(checklist, use),
    ...(before === undefined ? {} : { carried: carriedFrom(before) }),
  };
  const { job, floor, instruments } = openJobInBay(ledger, details, {
    bay,
    ...(plate === undefined ? {} : { plate }),
    ...(rulerMm === undefined ? {} : { rulerMm }),
  });
  screen.say(`Job ${job}: ${USE_TITLES[use].toLowerCase()} of a ${profile.model}`);
  for (const sentence of bayLine(floor, false).sentences) screen.say(`  ${sentence}`);
  for (const line of shopTrustLines(instruments)) screen.say(`  ${line}`);
  if (plate !== undefined && rulerMm === undefined) screen.say(`  Read with a ${plateText(plate)}.`);
  return job;
}

/** Once taken up the ruler stays: the readings of a job are of one kind or say where they change. */
function takeUpRuler(ledger: Ledger, job: number, { ruler }: JobOptions): void {
  const events = ledger.events(job).map((e) => e.event);
  if (ruler === undefined || events.some((e) => e.type === 'ruler taken up')) return;
  ledger.append({ type: 'ruler taken up', job, expandedMm: ruler });
}

async function nextSerial(keyboard: Keys, screen: TerminalScreen): Promise<string> {
  screen.say('');
  screen.say('Next machine of the batch: scan or type its serial number   [return alone: the batch is done]');
  return ((await keyboard.line('')) ?? '').trim();
}

function listedMachine({ machine, height }: Pick<JobOptions, 'machine' | 'height'>): MachineProfile {
  if (machine === undefined)
    throw numberedError('command not understood', 'a new job needs --machine or --walk-up');
  const profile = loadProfile(machine);
  return profileAtHeight(profile, height ?? profile.cutHeightMm);
}

/** A profile made of what a tape gives; asked again where the dimensions cannot all be true. */
async function walkUpMachine(keyboard: Keys, say: (text: string) => void): Promise<MachineProfile> {
  for (;;) {
    try {
      return machineFromTape(await askDimensions(terminalAsking(keyboard, say), FAMILIES));
    } catch (error) {
      if (!(error instanceof NumberedError)) throw error;
      say(`  ! ${error.message}`);
    }
  }
}

function known(profile: MachineProfile | undefined): MachineProfile {
  if (profile === undefined)
    throw numberedError('command not understood', 'the next machine of a batch needs --machine');
  return profile;
}

/** A machine that has been measured once is known to the next of its model. */
async function offerProfile(
  profile: MachineProfile,
  { log }: JobOptions,
  keyboard: Keys,
  say: (text: string) => void,
): Promise<void> {
  if (isOnShelf(log, profile.model))
    return say(`A machine called ${profile.model} is on the shop's shelf already, which was left as it is.`);
  const keep = await terminalAsking(keyboard, say).choice(
    `Keep ${profile.model} as a profile for the next one of its model?   return: keep it   n: no`,
    { return: true, n: false },
  );
  if (!keep) return;
  say(`Kept. Next time: swathplane job --machine ${putOnShelf(log, profile)}`);
}
