/** Views of invented jobs on invented machines: every name and number here is made up for the tests. */
import quellbeck from '../../../host/machines/profiles/quellbeck-133.json' with { type: 'json' };
import orrinshaw from '../../../host/machines/profiles/orrinshaw-106.json' with { type: 'json' };
import pimwick from '../../../host/machines/profiles/pimwick-76.json' with { type: 'json' };
import thrushmoor from '../../../host/machines/profiles/thrushmoor-248.json' with { type: 'json' };
import { profileSchema, type MachineProfile } from '../../../host/machines/profile';
import { DECISION_RULE, type ReadingRow, type SheetView } from '../../../host/views/sheet-view';
import { sealView } from '../../../host/views/seal-view';
import type { RawCapture, RecordView } from '../../../host/views/record-view';
import type { MeasureRow, StageView, TipRow } from '../../../host/views/stage-view';

export const MACHINES = {
  one: profileSchema.parse(pimwick),
  two: profileSchema.parse(orrinshaw),
  three: profileSchema.parse(quellbeck),
  five: profileSchema.parse(thrushmoor),
  seven: sevenSpindles(profileSchema.parse(thrushmoor)),
};

/** A closed job that passed after one round of turning. */
export function inventedView(profile: MachineProfile = MACHINES.three): SheetView {
  const came = inventedStage(profile, 'arrival', { level: 6.3, rake: -0.8, height: 3.4 });
  const turned = inventedStage(profile, 'after turning', { level: 0.4, rake: 5.2, height: 0.3 });
  const leaves = inventedStage(profile, 'after tightening', { level: -0.3, rake: 4.9, height: 0.2 });
  return {
    job: 41,
    use: 'levelling',
    profile,
    serialNumber: 'TEST-000317',
    workOrder: 'WO-2291',
    technician: 'Ida Müller-Åsgård',
    technicians: ['Ida Müller-Åsgård'],
    simulated: true,
    byRuler: false,
    claim: [],
    openedAt: '2031-03-04T08:12:09.120Z',
    closedAt: '2031-03-04T08:31:55.007Z',
    decision: 'pass',
    caps: [],
    stages: [
      {
        ...came,
        turned: profile.adjusters.map((a, i) => ({
          adjuster: a.name,
          turns: [2.5, -1.1666667, 0.8333333, -3][i % 4] ?? 0,
        })),
      },
      turned,
      leaves,
    ],
    fixtures: [
      {
        fixtureId: 'SW-0007',
        firmwareVersion: '0.1.0',
        calibrationVersion: 'head low 3, head high 2',
        openingErrorsMm: [0.021, -0.034],
        closingErrorsMm: [0.048, -0.012],
      },
    ],
    prepared: profile.preparation.map((p) => ({
      text: p.text,
      answer: p.number === undefined ? 'yes' : `${p.number.lower + 1} ${p.number.unit}`,
    })),
    parts: [],
    course: [],
    labour: {
      rows: [
        { activity: 'preparing', seconds: 312, modelledSeconds: 280 },
        { activity: 'measuring', seconds: 611, modelledSeconds: 590 },
        { activity: 'turning and repairing', seconds: 240, modelledSeconds: 222 },
        { activity: 'closing', seconds: 23, modelledSeconds: 34 },
      ],
      seconds: 1186,
      modelledSeconds: 1126,
      pausedSeconds: 0,
    },
    withAll: [],
    readings: Array.from({ length: 38 }, (_, i) =>
      reading(i + 1, i === 11 ? 'clamped on the wrong tip' : undefined),
    ),
    rule: DECISION_RULE,
    tightened: true,
    cautions: [
      'Replace a bent blade. Never straighten it, never fit it upside down.',
      "The maker's manual, local rules and licensed practice come first where they differ from this tool.",
    ],
    head: {
      writer: 'bay-2',
      sequence: 164,
      hash: '5f1c0b9e77aa43d2c86e1f0d9b3a5c7e21f4d6089ab3c5d7e9f10213243546f8',
    },
  };
}

/** The full record of a view: what it says of its readings, a budget whose shares are round, one photo. */
export function inventedRecord(sheet: SheetView = inventedView()): RecordView {
  const names = (sheet.stages[0]?.measures ?? []).map((m) => m.name);
  const shares = (value: number) => names.map(() => value);
  const budget = {
    measures: names.map((name, i) => ({ name, standardUncertaintyMm: 0.4 + i / 100 })),
    sources: [
      { source: 'placementMm' as const, value: 0.25, shares: shares(0.625) },
      { source: 'floorMm' as const, value: 1, shares: shares(0.25) },
      { source: 'captures' as const, shares: shares(0.125) },
    ],
    rest: shares(0),
    scatter: 1,
  };
  return {
    sheet,
    budgets: sheet.stages.length === 0 ? [] : [{ stage: 'arrival', budget }],
    assumed: ['floorMm'],
    readings: sheet.readings.map((r) => rawCapture(r, sheet.openedAt)),
    instruments: sheet.fixtures.map((f) => instrument(f)),
    photos: [{ at: sheet.openedAt, by: 'Ida', kind: 'jpeg', bytes: 1234, hash: 'ab'.repeat(32), kept: true }],
    cautionsConfirmedAt: sheet.openedAt,
    seal: sealView(sheet.head),
  };
}

function rawCapture(
  { number, step, target, heightMm, upheld, setAside }: ReadingRow,
  at: string,
): RawCapture {
  return {
    by: 'fixture',
    number,
    at,
    sequence: step + 20,
    target,
    heightMm,
    upheld,
    ...(setAside === undefined ? {} : { setAside }),
    fixtureId: 'SW-0007',
    bootCount: 12,
    uptimeS: 100 + number,
    headPosition: 'low',
    calibrationVersion: 3,
    samples: 16,
    countsMean: 20000.5 + number,
    countsSd: 21.5,
    driftMmPerS: 0.01,
    gravityMg: [12.5, -3.25, 1001],
    temperatureC: 18.25,
    waitedMs: 16,
    distanceMm: 75.125 + number,
  };
}

function instrument(f: SheetView['fixtures'][number]): RecordView['instruments'][number] {
  return {
    fixtureId: f.fixtureId,
    board: 'test board',
    firmwareVersion: f.firmwareVersion,
    protocol: '1.0',
    calibrations: [],
    master: { name: 'test master', lowMm: 35, highMm: 85 },
    openingErrorsMm: f.openingErrorsMm,
    closingErrorsMm: f.closingErrorsMm,
    trust: f.trust ?? [],
    captures: { first: 1, last: 38, missing: [{ from: 20, to: 24 }] },
    bootCounts: [12],
  };
}

export function inventedStage(
  profile: MachineProfile,
  stage: StageView['stage'],
  off: { level: number; rake: number; height: number },
): StageView {
  const slopeX = -off.rake / 640;
  const slopeY = off.level / 1330;
  const z0Mm = profile.cutHeightMm + off.height - slopeX * 1000;
  const tips = profile.spindles.flatMap((s) =>
    headings(profile, s.name).map((h) => tipOn({ z0Mm, slopeX, slopeY }, s, h)),
  );
  const measures = profile.measures.map((m, i): MeasureRow => {
    const valueMm =
      m.name === 'level'
        ? off.level
        : m.name === 'rake'
          ? off.rake
          : m.name === 'cut height'
            ? profile.cutHeightMm + off.height
            : 0.3 * i - 0.9;
    const inside = valueMm >= m.lowerMm && valueMm <= m.upperMm;
    return {
      name: m.name,
      valueMm,
      expandedMm: 0.61 + 0.13 * i,
      targetMm: m.targetMm,
      lowerMm: m.lowerMm,
      upperMm: m.upperMm,
      limitSource: m.source,
      probabilityInside: inside ? 0.998 : 0.01,
      verdict: inside ? 'inside' : 'outside',
    };
  });
  const pass = measures.every((m) => m.verdict === 'inside');
  return {
    stage,
    decision: pass ? 'pass' : 'fail',
    jointProbability: pass ? 0.9871 : 0.0003,
    restsOnAssumedValues: false,
    restsOn: [],
    faults: { adjustmentOnly: 0.97, rows: [], hidden: [] },
    cannotMend: [],
    measures,
    tips,
    plane: { z0Mm, slopeX, slopeY },
    captures: [1, 2, 3],
    turned: [],
  };
}

function headings(profile: MachineProfile, spindle: string): number[] {
  const declared = profile.measures.flatMap((m) =>
    m.what === 'tips' ? m.terms.filter((t) => t.spindle === spindle) : [],
  );
  const wanted = profile.spindles.length >= 3 ? 2 : profile.spindles.length === 2 ? 3 : 4;
  return [...new Set([...declared.map((t) => t.headingDeg), 0, 180, 90, -90])].slice(
    0,
    Math.max(wanted, new Set(declared.map((t) => t.headingDeg)).size),
  );
}

function tipOn(
  plane: { z0Mm: number; slopeX: number; slopeY: number },
  spindle: MachineProfile['spindles'][number],
  headingDeg: number,
): TipRow {
  const heading = (headingDeg * Math.PI) / 180;
  const xMm = spindle.xMm + spindle.tipRadiusMm * Math.cos(heading);
  const yMm = spindle.yMm + spindle.tipRadiusMm * Math.sin(heading);
  return {
    spindle: spindle.name,
    headingDeg,
    xMm,
    yMm,
    heightMm: plane.z0Mm + plane.slopeX * xMm + plane.slopeY * yMm,
    expandedMm: 0.66,
  };
}

export function reading(number: number, setAside?: string): ReadingRow {
  const base: ReadingRow = {
    by: 'fixture',
    step: number,
    target: { kind: 'master', edge: 'low', when: 'opening' },
    fixtureId: 'SW-0007',
    number,
    heightMm: 35,
    upheld: false,
  };
  return setAside === undefined ? base : { ...base, setAside };
}

function sevenSpindles(from: MachineProfile): MachineProfile {
  const names = ['far left', 'left', 'near left', 'centre', 'near right', 'right', 'far right'];
  const spindles = names.map((name, i) => ({
    name,
    xMm: i % 2 === 0 ? 1000 : 790,
    yMm: (3 - i) * 490,
    tipRadiusMm: 260,
    rotation: 'clockwise' as const,
    blockedArcsDeg: [],
  }));
  const tips = from.measures.filter((m) => m.what === 'tips');
  const bends = names.map((name) => ({
    what: 'bend' as const,
    name: `bend ${name}`,
    spindle: name,
    targetMm: 0,
    lowerMm: -3,
    upperMm: 3,
    source: 'shop limit',
  }));
  return { ...from, model: 'Sevenfold 361', spindles, measures: [...tips, ...bends] };
}
