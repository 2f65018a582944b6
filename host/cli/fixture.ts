import { PHASES, RESET_CAUSES, SELF_TESTS, type Code } from '../../protocol/wire/codes';
import { FIXTURE_ERRORS } from '../../protocol/wire/errors';
import {
  findFixture,
  openLink,
  openSerialPort,
  rebootToUpdate,
  surveyPorts,
  type PortFinding,
} from '../link/index';
import { columns } from '../terminal/stage-text';
import { print, printJson } from './output';

export interface FixtureOptions {
  readonly port?: string;
  readonly selfTest?: boolean;
  readonly update?: boolean;
  readonly json?: boolean;
}

/** Without a port: what is on every port. With one (or with a thing to do): the fixture's state. Exit code 1: a test failed. */
export async function fixture(options: FixtureOptions): Promise<number> {
  if (options.port === undefined && options.selfTest !== true && options.update !== true)
    return survey(options);
  const path = options.port ?? (await findFixture()).path;
  const port = { open: () => openSerialPort(path), name: path };
  if (options.update === true) {
    const identity = await rebootToUpdate(port);
    if (options.json === true) printJson({ port: path, identity, restarting: true });
    else print(`${identity.fixtureId} restarts ready for new firmware`);
    return 0;
  }
  return show(path, options);
}

async function survey(options: FixtureOptions): Promise<number> {
  const findings = await surveyPorts();
  const said = (f: PortFinding) =>
    'identity' in f ? `${f.identity.fixtureId}, firmware ${f.identity.firmwareVersion}` : f.error.message;
  if (options.json === true) printJson(findings.map((f) => ({ ...f, said: said(f) })));
  else if (findings.length === 0)
    print('no serial port on this computer; name one with --port if it is not listed');
  else print(...columns([['port', 'what is on it'], ...findings.map((f) => [f.path, said(f)])]));
  return 0;
}

async function show(path: string, options: FixtureOptions): Promise<number> {
  // Captures that wait in the fixture stay there: without a log nothing is kept and so nothing is acknowledged.
  const keep = () => {
    throw new Error('this command keeps no captures');
  };
  const link = await openLink({ open: () => openSerialPort(path), name: path, keep });
  try {
    const identity = link.identity();
    const status = await link.request('report-status', {});
    const test = options.selfTest === true ? await link.request('self-test', {}) : undefined;
    if (options.json === true) printJson({ port: path, identity, status, selfTest: test });
    else {
      print(
        `${identity.fixtureId} on ${path}: board ${identity.board}, firmware ${identity.firmwareVersion}, protocol ${identity.protocolMajor}.${identity.protocolMinor}, start ${identity.bootCount}`,
        `  ${nameOf(PHASES, status.phase)}; last start by ${nameOf(RESET_CAUSES, status.resetCause)}; head ${status.headPosition === 0 ? 'low' : 'high'}; ${(status.temperature / 100).toFixed(1)} °C`,
        `  ${status.unacknowledged} captures wait for a job, ${status.journalFree} more fit`,
        ...FIXTURE_ERRORS.filter((e) => bit(status.faults, e.number - 100)).map(
          (e) => `  E${e.number}: ${e.cause}. Next: ${e.nextStep}`,
        ),
        ...(test === undefined ? [] : testLines(test.tested, test.failed)),
      );
    }
    return status.faults === 0 && (test?.failed ?? 0) === 0 ? 0 : 1;
  } finally {
    await link.close();
  }
}

function testLines(tested: number, failed: number): string[] {
  return SELF_TESTS.filter((t) => bit(tested, t.value)).map(
    (t) => `  ${bit(failed, t.value) ? 'FAILED' : 'passed'}  ${t.name}: ${t.meaning}`,
  );
}

function bit(set: number, position: number): boolean {
  return Math.floor(set / 2 ** position) % 2 === 1;
}

function nameOf(codes: readonly Code[], value: number): string {
  return codes.find((c) => c.value === value)?.name ?? `${value}`;
}
