/**
 * `swathplane calibrate`, `check` and `study take` in a real terminal, with a fixture on a real tty that was never calibrated.
 * The person at the keyboard knows nothing but the words on the screen.
 */
import { existsSync, mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { calibrationsInLog, historiesInLog, sessionsInLog } from '../../host/conduct/gauging-in-log';
import { daysAfter } from '../../host/gauging/equipment';
import { openLedgerForReading, type LedgerReader } from '../../host/ledger/ledger';
import { createBench } from '../../host/simulation/bench';
import { EXAMPLE_BODY } from '../../host/simulation/body';
import { MEMORY_BYTES } from '../../host/simulation/parts/memory';
import { seededRandom } from '../../host/simulation/random';
import type { World } from '../../host/simulation/world';
import { ANSWERS, fixtureOnTty, talk } from './bench';

const folder = mkdtempSync(join(tmpdir(), 'swathplane-'));
const log = join(folder, 'bay.swathplane-log');
const today = new Date().toISOString().slice(0, 10);
const random = seededRandom(8);
const bench = createBench({ body: EXAMPLE_BODY, random });
/** What the person holds and has turned. */
const stands = { head: 0 as 0 | 1, edgeMm: 35, blockMm: 0, turnDeg: 0 };
const TIPS: Record<string, number> = { 'left A': 58, 'left B': 61.5, 'right A': 55, 'right B': 64 };

let nowUs = 0;
let inMotionUntilUs = 0;
/** A hand that moves the fixture is felt by its motion part. */
const world: World = {
  sceneAt: (timeUs) => {
    nowUs = timeUs;
    const scene = bench.sceneAt(timeUs);
    return timeUs < inMotionUntilUs
      ? { ...scene, distanceMm: undefined, turnRateDegS: [60, 20, 0], forceG: [0.2, 0.3, 1.1] }
      : scene;
  },
};

function doAsAsked(question: string): void {
  const said = (words: RegExp) => words.exec(question)?.[1];
  const head = said(/pin the head (low|high)/i);
  const turn = said(/turn the height master to (\d+) degrees/i);
  const block = said(/lay the ([\d.]+) mm gauge block/i);
  const edge = said(/anew on the edge at ([\d.]+) mm/i);
  const tip = said(/clamps it anew on: ([^\s]+ [AB])/);
  if (head !== undefined) stands.head = head === 'low' ? 0 : 1;
  if (turn !== undefined) stands.turnDeg = Number(turn);
  if (block !== undefined) stands.blockMm = Number(block);
  if (/5 degrees warmer or colder/.test(question)) bench.temperatureC += 11;
  if (/take the gauge block away/i.test(question)) stands.blockMm = 0;
  if (edge !== undefined) stands.edgeMm = Number(edge);
  if (tip === undefined) bench.put({ ...stands, ...(edge === undefined ? { sameSeat: true } : {}) });
  else bench.put({ head: 0, edgeMm: TIPS[tip] ?? NaN, blockMm: 0, turnDeg: 0, clampMm: random.normal(0.1) });
  inMotionUntilUs = nowUs + 200_000;
}

const type = (args: readonly string[], leaveAfter?: number) =>
  talk([...args, '--log', log], ANSWERS, leaveAfter, doAsAsked);

function inLog<T>(read: (ledger: LedgerReader) => T): T {
  const ledger = openLedgerForReading(log);
  ledger.verify();
  const found = read(ledger);
  ledger.close();
  return found;
}

let fixture: Awaited<ReturnType<typeof fixtureOnTty>>;
let other: typeof fixture;
beforeAll(async () => {
  fixture = await fixtureOnTty('SIM-NEW', world, new Uint8Array(MEMORY_BYTES));
  other = await fixtureOnTty('SIM-OTHER', world);
});
afterAll(() => [fixture, other].forEach((f) => f.stop()));

const entry = (kind: string, id: string, values: string, due: string) =>
  [
    ...[
      'equipment',
      'add',
      '--id',
      id,
      '--kind',
      kind,
      '--certificate',
      'INVENTED',
      '--laboratory',
      'invented',
    ],
    ...['--date', daysAfter(today, -400), '--due', due, '--uncertainty', '0.06', '--values', values],
  ] as const;

it(
  'a fixture that was never calibrated is calibrated, checked and studied by single keys',
  { timeout: 600_000 },
  async () => {
    const calibrate = ['calibrate', '--port', fixture.path, '--technician', 'Ola Invented'];
    expect((await type(calibrate)).text).toContain('E479');
    const blocks = '5,10,15,20,25,30,32,35,40,45,50,55,58';
    await type(entry('gauge blocks', 'GB-1', blocks, daysAfter(today, 300)));
    await type(entry('height master', 'HM-1', '35,85,75,125', daysAfter(today, -1)));
    const overdue = await type(calibrate);
    expect(overdue.text).toContain('E479');
    expect(overdue.text).toContain('was due on');
    await type(entry('height master', 'HM-1', '35,85,75,125', daysAfter(today, 300)));
    const unsaid = await type(calibrate);
    expect(unsaid.text).toContain('E484');
    expect(unsaid.text).toContain('--volts');

    const first = [
      ...calibrate,
      '--volts',
      '0.2,3.8',
      '--temperature',
      '--days',
      '90',
      '--to',
      join(folder, 'record.pdf'),
    ];
    const left = await type(first, 7);
    expect(left.text).toContain('First calibration');
    expect(left.text).toContain('E483');
    const session = /session (\d+)/.exec(left.text)?.[1] ?? '';
    // Nothing counts with a drawing.
    expect((await type(['check', '--port', fixture.path])).text).toContain('E480');

    const done = await type([...first, '--resume', session]);
    expect(done.text).toContain('FIRST CALIBRATION');
    expect(done.text).toContain('Written to fixture SIM-NEW');
    expect(done.code).toBe(0);
    expect(existsSync(join(folder, 'record.pdf'))).toBe(true);
    const [written] = inLog(calibrationsInLog);
    expect(written?.record).toMatchObject({
      by: 'Ola Invented',
      due: daysAfter(today, 90),
      first: true,
      faults: [],
    });
    expect(written?.record.temperature).toMatchObject({ measured: true });
    expect(written?.record.temperature.spanC).toBeCloseTo(11, 0);
    // What was read before leaving was not asked again.
    expect(left.asked.length - 1 + done.asked.length).toBe(inLog(sessionsInLog)[0]?.opened.steps.length);

    const check = await type(['check', '--port', fixture.path]);
    expect(check.text).toContain('in control');
    expect(check.code).toBe(0);
    expect(inLog(historiesInLog)[0]?.checks).toHaveLength(1);

    const tips = Object.keys(TIPS).join(',');
    const plan = ['--tips', tips, '--technicians', 'Ann,Bo', '--repeats', '2', '--seed', '3'];
    const study = await type(['study', 'take', ...plan, '--port', fixture.path]);
    expect(study.code).toBe(0);
    expect(study.asked).toHaveLength(16);
    const number = /Study (\d+) is complete/.exec(study.text)?.[1] ?? '';
    const shown = await type(['study', '--session', number]);
    expect(shown.text).toContain('4 parts, 2 operators, 2 trials');

    // The second fixture of the shop reads the same tips: do the two read alike?
    await type(['study', 'take', ...plan, '--port', other.path]);
    const bias = await type(['study', 'bias', '--sessions', number, `${Number(number) + 1}`]);
    expect(bias.text).toContain('2 fixtures on 4 parts');
    expect(bias.text).toContain('SIM-NEW less SIM-OTHER');
    expect([0, 1]).toContain(bias.code);
  },
);
