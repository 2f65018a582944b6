/** What the floor of the bay does to a job: expired surveys, twisted wheel spots, target plates. Simulated shops; truth is theirs. */
import { describe, expect, test } from 'vitest';
import { wheelTwist } from '../../../host/bay/wheel-twist';
import { simulatedWork } from '../../../host/cli/simulated-work';
import { loadProfile } from '../../../host/machines/load';
import { machineFromTape } from '../../../host/machines/from-tape';
import { refusal } from '../../../host/procedure/admit';
import { capsOf } from '../../../host/procedure/caps';
import { replay } from '../../../host/procedure/state';
import { sheetView } from '../../../host/views/sheet-view';
import type { Shop } from '../../../host/simulation/shop';
import { directJob, type DirectOptions } from '../../campaign/direct-job';
import { surveyedBay } from '../../campaign/surveyed-bay';

const pivoting = loadProfile('orrinshaw-106');
const rigid = loadProfile('quellbeck-133');
const surveyed =
  (profile: typeof rigid, seed: number, on = '2026-11-25') =>
  (shop: Shop) => ({
    ...surveyedBay(profile, shop.floor, { statedSdMm: 0.05, trueSdMm: 0.05 }, seed),
    on,
  });
const SET_UP_WELL: DirectOptions = {
  hangerErrorSdMm: 0.3,
  bendSdMm: 0.1,
  parkingSdMm: 0,
  parkingHeadingSdDeg: 0,
};

function answering(answers: Record<string, unknown>): NonNullable<DirectOptions['hands']> {
  return (shop) => {
    const work = simulatedWork(shop);
    return {
      ...work,
      answer: (question) =>
        question.do in answers ? (answers[question.do] as never) : work.answer(question),
    };
  };
}

const stored = (events: ReturnType<typeof directJob>['events']) =>
  events.map((event, i) => ({
    writer: 'w',
    sequence: i + 1,
    at: '2026-11-25T08:00:00.000Z',
    event,
    hash: 'h',
  }));

describe('an expired survey', () => {
  // Surveyed on 2026-11-02 for 180 days.
  const late = '2027-06-01';
  const jobWith = (answer: 'put aside' | 'kept') =>
    directJob(3, pivoting, {
      ...SET_UP_WELL,
      floorSdMm: 0.2,
      bay: surveyed(pivoting, 3, late),
      hands: answering({ 'expired floor': answer }),
    });

  test('is asked about before the first reading; kept to, it keeps a pass from being called one', () => {
    const { state, events, stages } = jobWith('kept');
    const asked = events.findIndex((e) => e.type === 'expired floor');
    expect(asked).toBeGreaterThan(0);
    expect(asked).toBeLessThan(events.findIndex((e) => e.type === 'captured'));
    expect(stages.at(-1)?.assessment.result.decision).toBe('pass');
    expect(state.closed).toBe('undecided');
    expect(capsOf(state).join()).toMatch(/survey of campaign bay expired on 2027-05-01: survey it again/);
  });

  test('put aside by the technician’s choice, the machine is judged on a floor not surveyed, and the sheet says so', () => {
    const { state, events, stages } = jobWith('put aside');
    expect(capsOf(state)).toEqual([]);
    expect(state.closed).toBe('pass');
    expect(sheetView(stored(events))?.bay?.sentences.join(' ')).toContain(
      'Put aside for this job by the technician',
    );
    const unsurveyed = directJob(3, pivoting, { ...SET_UP_WELL, floorSdMm: 0.2 });
    const widths = (s: typeof stages) =>
      s[0]?.assessment.solution.measures.map((m) => m.determined && m.standardUncertaintyMm);
    expect(widths(stages)).toEqual(widths(unsurveyed.stages));
  });

  test('that has not expired is not asked about', () => {
    const { events, state } = directJob(3, pivoting, {
      ...SET_UP_WELL,
      floorSdMm: 0.2,
      bay: surveyed(pivoting, 3),
    });
    expect(events.some((e) => e.type === 'expired floor')).toBe(false);
    const last = events.slice(0, -1);
    const early = { type: 'expired floor', job: 1, answer: 'put aside' } as const;
    expect(refusal(replay(last), early)?.number).toBe(406);
    expect(state.closed).toBe('pass');
  });
});

describe('a floor that is twisted under a rigid frame', () => {
  // A floor that falls off toward one corner, 4 mm under that wheel: on a rectangle of wheels the twist is just that.
  const rectangle = machineFromTape({
    model: 'Rectangle',
    family: 'stand-on',
    blades: 2,
    bladeLengthMm: 480,
    spacingMm: 450,
    timed: true,
    wheelbaseMm: 1200,
    frontTrackMm: 900,
    rearTrackMm: 900,
    rotation: 'clockwise',
    cutHeightMm: 75,
  });
  const bayWith = (sunkMm: number, twistLimitMm = 3) => {
    const at = { heightMm: (x: number, y: number) => (-sunkMm * (x / 1200) * (y + 450)) / 900 };
    const { bay, ...rest } = surveyedBay(
      rectangle,
      at as Shop['floor'],
      { statedSdMm: 0.05, trueSdMm: 0 },
      1,
    );
    return { ...rest, bay: { ...bay, twistLimitMm } };
  };

  test('twist and shims, by hand', () => {
    const twist = wheelTwist(bayWith(4), rectangle);
    // The survey's 0.05 mm a reading and the floor's own smoothness leave it a little uncertain.
    expect(Math.abs((twist?.twistMm ?? NaN) - 4)).toBeLessThan(2 * (twist?.standardUncertaintyMm ?? NaN));
    expect(twist?.standardUncertaintyMm).toBeLessThan(0.15);
    expect(twist?.shims.map((s) => [s.wheel, s.heightMm])).toEqual([
      ['front left', expect.closeTo(4, 0)],
      ['rear right', expect.closeTo(4, 0)],
    ]);
    expect(wheelTwist(bayWith(4), { ...rectangle, groundPlane: 'pivoting front axle' })).toBeUndefined();
  });

  const TWISTED: DirectOptions = { ...SET_UP_WELL, floorSdMm: 2.5 };

  test('beyond the shop limit it is asked about, and left alone it keeps a pass from being called one', () => {
    const seed = [...Array(40).keys()].find((s) => {
      const { shop } = directJob(s, rigid, { arrivalOnly: true, ...TWISTED });
      const twist = wheelTwist(surveyed(rigid, s)(shop), rigid);
      return (twist?.twistMm ?? 0) > 3.3;
    });
    if (seed === undefined) throw new Error('no twisted floor among these');
    const options = { ...TWISTED, bay: surveyed(rigid, seed) };
    const left = directJob(seed, rigid, { ...options, hands: answering({ 'shim wheels': 'none' }) });
    expect(left.state.closed).not.toBe('pass');
    expect(capsOf(left.state).join()).toMatch(/twisted by 3\.\d mm, shop limit 3 mm: shim a wheel/);

    const shimmed = directJob(seed, rigid, options);
    expect(capsOf(shimmed.state)).toEqual([]);
    const said = shimmed.state.shim;
    if (said === undefined || said === 'none') throw new Error('the simulated technician shims');
    expect(sheetView(stored(shimmed.events))?.bay?.sentences.join(' ')).toContain(
      `under wheel ${said.wheel}`,
    );
    // The simulated wheel stands on that shim, and the solved heights count from it: within U of the truth.
    const last = shimmed.stages.at(-1);
    for (const m of last?.assessment.solution.measures ?? []) {
      if (!m.determined) continue;
      const off = Math.abs(m.valueMm - (last?.trueMm[m.name] ?? NaN));
      expect(off / m.standardUncertaintyMm, m.name).toBeLessThan(3);
    }
  });
});

describe('target plates', () => {
  const plate = { thicknessMm: 6, expandedUncertaintyMm: 0.05 };
  const ROUGH: DirectOptions = { textureSdMm: 0.4, arrivalOnly: true, floorSdMm: 0.3 };
  const jobs = (options: DirectOptions) =>
    Array.from({ length: 24 }, (_, seed) => directJob(seed, pivoting, { ...ROUGH, ...options }).stages[0]);
  const errors = (stages: ReturnType<typeof jobs>, name: string) =>
    stages.map((stage) => {
      const found = stage?.assessment.solution.measures.find((m) => m.name === name);
      return (found?.determined === true ? found.valueMm : NaN) - (stage?.trueMm[name] ?? NaN);
    });
  const rms = (values: number[]) => Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);
  const mean = (values: number[]) => values.reduce((a, b) => a + b, 0) / values.length;

  test('on a rough floor they take the texture out of a bend, and their thickness is added to the height', () => {
    const bareJobs = jobs({});
    const plateJobs = jobs({ plate, plateMm: 6 });
    const bare = errors(bareJobs, 'bend left');
    const plates = errors(plateJobs, 'bend left');
    // By hand: a bend is the difference of two clampings. Clamping 0.25 mm each gives 0.35 mm with or
    // without; texture of 0.4 mm on two headings of each end gives another 0.4 mm only without: 0.53 against 0.35 mm.
    expect(rms(plates)).toBeLessThan(0.8 * rms(bare));
    expect(rms(plates)).toBeGreaterThan(0.2);
    // It lies on the highest grains, up to three times the texture above the floor: the tip then reads lower, not higher.
    const height = mean(errors(plateJobs, 'cut height')) - mean(errors(bareJobs, 'cut height'));
    expect(height).toBeLessThan(-0.3);
    expect(height).toBeGreaterThan(-3 * 0.4 - 0.2);
  });

  test('readings without the plate that was stated do not pass for true', () => {
    const error = mean(errors(jobs({ plate }), 'cut height'));
    expect(error).toBeGreaterThan(5);
  });

  test('are stated before the first reading, once for the job, and are on the sheet', () => {
    const { events } = directJob(1, pivoting, { plate, plateMm: 6, ...SET_UP_WELL });
    expect(sheetView(stored(events))?.bay?.sentences.join(' ')).toContain('target plate of 6.00 ± 0.05 mm');
    const read = events.findIndex((e) => e.type === 'captured');
    const laid = { type: 'plates laid', job: 1, plate } as const;
    expect(refusal(replay(events.slice(0, read)), laid)).toBeUndefined();
    expect(refusal(replay(events.slice(0, read + 1)), laid)?.number).toBe(406);
  });
});
