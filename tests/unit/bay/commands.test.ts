/** The bay's commands as their user meets them, and the bay in a job: what is written, shown, and counted with. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import type { BayOfJob } from '../../../host/bay/known-floor';
import { simulatedSurvey } from '../../../host/cli/simulated-survey';
import { baysInLog } from '../../../host/conduct/bay-in-log';
import type { JobEvent } from '../../../host/ledger/events';
import { openLedger } from '../../../host/ledger/ledger';
import { loadProfile } from '../../../host/machines/load';
import { refusal } from '../../../host/procedure/admit';
import { replay } from '../../../host/procedure/state';
import { seededRandom } from '../../../host/simulation/random';
import { sheetView } from '../../../host/views/sheet-view';
import { surveyed } from '../../campaign/bay';
import { directJob } from '../../campaign/direct-job';

const folder = mkdtempSync(join(tmpdir(), 'swathplane-bay-'));
afterAll(() => rmSync(folder, { recursive: true }));
const log = join(folder, 'bay.swathplane-log');
const profile = loadProfile('quellbeck-133');
const flat = { heightMm: (x: number, y: number) => 0.004 * x + 0.001 * y };

function swathplane(...args: string[]) {
  const entry = join(import.meta.dirname, '../../../build/host/swathplane.js');
  const run = spawnSync(process.execPath, [entry, ...args], { cwd: folder, encoding: 'utf8' });
  return { code: run.status, out: run.stdout, err: run.stderr };
}

function bayFile(name: string, content: object): string {
  const path = join(folder, name);
  writeFileSync(path, JSON.stringify(content));
  return path;
}

describe('swathplane bay', () => {
  test('survey takes a file in and show gives heights, slope and expiry back', () => {
    const today = new Date().toISOString().slice(0, 10);
    const bay = { ...simulatedSurvey(profile, flat, today, seededRandom(4)), name: 'bay 2' };
    const put = swathplane('bay', 'survey', bayFile('good.json', bay), '--log', log);
    expect(put.err).toBe('');
    expect(put.out).toContain(`bay 2, surveyed ${today}`);
    const shown = JSON.parse(swathplane('bay', 'show', '--json', '--log', log).out) as {
      result: { wheels: { slopeX: number; slopeY: number; twistMm: number } };
      line: { state: string };
    }[];
    expect(shown[0]?.line.state).toBe('surveyed');
    // The floor slopes by 4 and 1 mm in a metre; readings of 0.15 mm over 1.2 and 0.9 m.
    expect(shown[0]?.result.wheels.slopeX).toBeCloseTo(4, 0);
    expect(shown[0]?.result.wheels.slopeY).toBeCloseTo(1, 0);
    expect(shown[0]?.result.wheels.twistMm).toBeLessThan(1);
  });

  test('a survey that does not close is refused by number and nothing is written', () => {
    const bay = simulatedSurvey(profile, flat, '2026-01-01', seededRandom(4));
    const staff = bay.survey?.staff.map((s, i) => (i === 3 ? { ...s, readingMm: s.readingMm + 10 } : s));
    const file = bayFile('open.json', { ...bay, survey: { ...bay.survey, staff } });
    const run = swathplane('bay', 'survey', file, '--log', join(folder, 'other.swathplane-log'));
    expect(run.code).toBe(3);
    expect(run.err).toContain('E454');
    expect(run.err).toContain(staff?.[3]?.point ?? 'no reading');
    expect(swathplane('bay', 'show', '--log', join(folder, 'other.swathplane-log')).code).toBe(3);
  });

  test('casters: two checks give the shim, and it is on the record', () => {
    const run = swathplane('bay', 'casters', '0:29:31', '4:33.8:26.2', '--log', log);
    expect(run.out).toMatch(/shim of 0\.\d ± \d\.\d mm under the left caster/);
    expect(swathplane('bay', 'casters', '0:29', '--log', log).err).toContain('E403');
  });
});

describe('a job on a bay', () => {
  const seed = 6;
  const job = (
    visit: number,
    facing: 'along' | 'against',
    bay?: (shop: Parameters<typeof surveyed>[0]) => BayOfJob,
  ) =>
    directJob(seed, profile, {
      visit,
      facing,
      arrivalOnly: true,
      hangerErrorSdMm: 1,
      ...(bay === undefined ? {} : { bay }),
    });
  /** The events of a visit as job `number` of a log, each with a fixture of its own, and the result written down. */
  const numbered = (events: readonly JobEvent[], number: number): JobEvent[] => [
    ...events.map((event): JobEvent => {
      const fixtureId = `direct ${number}`;
      if (event.type === 'captured')
        return { ...event, job: number, fixtureId, capture: { ...event.capture, job: number } };
      if (event.type === 'fixture joined')
        return { ...event, job: number, fixture: { ...event.fixture, fixtureId } };
      return { ...event, job: number };
    }),
    { type: 'assessed', job: number, stage: 'arrival', decision: 'undecided', jointProbability: 0.5 },
  ];
  const u = (state: ReturnType<typeof job>, name: string) => {
    const found = state.stages[0]?.assessment.solution.measures.find((m) => m.name === name);
    return found?.determined === true ? found.standardUncertaintyMm : NaN;
  };

  test('is surer of level on a surveyed bay, and the sheet says which and when', () => {
    const plain = job(1, 'along');
    const known = job(1, 'along', (shop) => surveyed(shop, profile, seed));
    expect(u(known, 'level')).toBeLessThan(u(plain, 'level'));
    const view = (events: readonly JobEvent[]) =>
      sheetView(
        events.map((event, i) => ({
          writer: 'w',
          sequence: i + 1,
          at: '2026-06-01T08:00:00.000Z',
          event,
          hash: '',
        })),
      )?.bay;
    expect(view(known.events)).toMatchObject({ state: 'surveyed', surveyDate: '2026-06-01' });
    expect(view(plain.events)?.sentences[0]).toContain('not surveyed');
  });

  test('an expired survey changes nothing to the bit, and says so', () => {
    const plain = job(1, 'along');
    const late = job(1, 'along', (shop) => ({ ...surveyed(shop, profile, seed), on: '2027-06-01' }));
    expect(late.stages[0]?.assessment.solution).toEqual(plain.stages[0]?.assessment.solution);
  });

  test('chooses its bay before the first reading only', () => {
    const { state, shop } = job(1, 'along');
    const event = { type: 'bay chosen', job: 1, ...surveyed(shop, profile, seed) } as const;
    expect(refusal(state, event)?.number).toBe(406);
    const opened = replay(job(1, 'along').events.slice(0, 1));
    expect(refusal(opened, event)).toBeUndefined();
  });

  test('turned round: the bias is in the log, and the next job counts with it', () => {
    const ledger = openLedger(log, { writer: 'bay 1', now: () => new Date() });
    for (const [i, facing] of (['along', 'against'] as const).entries())
      for (const event of numbered(job(i + 1, facing).events, i + 1)) ledger.append(event);
    ledger.close();
    const run = swathplane('bay', 'turn-round', '1', '2', '--json', '--log', log);
    expect(run.err).toBe('');
    const { biases } = JSON.parse(run.out) as { biases: { name: string; standardUncertaintyMm: number }[] };
    expect(biases.map((b) => b.name)).toEqual(['level', 'rake']);
    const reader = openLedger(log, { writer: 'bay 1', now: () => new Date() });
    const on = new Date().toISOString().slice(0, 10);
    const [known] = baysInLog(reader, on);
    reader.verify();
    reader.close();
    expect(known?.turnRounds).toHaveLength(2);
    if (known === undefined) return;
    const unsurveyed = { ...known, bay: { ...known.bay, survey: undefined } };
    expect(
      u(
        job(3, 'along', () => unsurveyed),
        'level',
      ),
    ).toBeLessThan(u(job(3, 'along'), 'level'));
    expect(swathplane('bay', 'turn-round', '1', '9', '--log', log).err).toContain('E256');
  });
});
