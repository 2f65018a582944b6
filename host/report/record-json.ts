/**
 * The full record as JSON, for programs. The schema is the one typed source: the type and the published JSON schema
 * (`record.schema.json`) come from it. What was not measured is left out, never a number.
 */
import { z } from 'zod';
import type { RawReading, RecordView } from '../views/record-view';
import type { MeasureRow, StageView } from '../views/stage-view';

/** Raised when a field changes its meaning or goes; a new field raises the part after the point. */
export const RECORD_FORMAT = 'swathplane record 1.0';

const text = z.string();
const whole = z.int().min(0);
const number = z.number();
const share = z.number().min(0).max(1);
const time = z.string().regex(/^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}\.\d{3}Z$/);
const day = z.string().regex(/^\d{4}-\d{2}-\d{2}$/);
const hash = z.string().regex(/^[0-9a-f]{64}$/);
const decision = z.enum(['pass', 'fail', 'undecided']);
const stageName = z.enum(['arrival', 'after turning', 'after tightening', 'after repair', 'read again']);
const head = z.enum(['low', 'high']);
const end = z.enum(['A', 'B']);

const target = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('tip'),
    spindle: text,
    headingDeg: number,
    end,
    seating: whole,
    placement: whole,
    refitted: z.literal(true).optional(),
  }),
  z.strictObject({ kind: z.literal('master'), edge: head, when: z.enum(['opening', 'closing']) }),
  z.strictObject({
    kind: z.literal('watch'),
    spindle: text,
    headingDeg: number,
    end,
    seating: whole,
    placement: whole,
    during: text,
    when: z.enum(['start', 'end']),
  }),
]);

const anyReading = {
  number: whole,
  at: time,
  /** Entry of the log that holds it. */
  sequence: whole,
  target,
  stage: stageName.optional(),
  heightMm: number,
  upheld: z.boolean(),
  setAside: text.optional(),
};

const reading = z.discriminatedUnion('by', [
  z.strictObject({
    by: z.literal('fixture'),
    ...anyReading,
    fixtureId: text,
    bootCount: whole,
    uptimeS: number,
    headPosition: head,
    calibrationVersion: whole,
    samples: whole,
    countsMean: number,
    countsSd: z.number().min(0),
    driftMmPerS: number,
    gravityMg: z.tuple([number, number, number]),
    temperatureC: number,
    waitedMs: number,
    distanceMm: number,
  }),
  z.strictObject({ by: z.literal('ruler'), ...anyReading, expandedMm: z.number().gt(0) }),
]);

const measure = z.strictObject({
  name: text,
  /** Left out where the readings do not determine it. */
  valueMm: number.optional(),
  /** U, k = 2. */
  expandedMm: z.number().gt(0).optional(),
  targetMm: number,
  lowerMm: number,
  upperMm: number,
  limitSource: text,
  probabilityInside: share,
  verdict: z.enum(['inside', 'outside', 'cannot tell yet', 'not measured']),
});

const stage = z.strictObject({
  stage: stageName,
  decision,
  jointProbability: share,
  restsOnAssumedValues: z.boolean(),
  measures: z.array(measure),
  tips: z.array(
    z.strictObject({ spindle: text, headingDeg: number, heightMm: number, expandedMm: z.number().min(0) }),
  ),
  faults: z.array(
    z.strictObject({
      parts: text,
      size: text,
      probability: share,
      status: z.enum(['beyond its limit', 'perhaps beyond its limit', 'within its limit']),
      captures: z.array(whole),
    }),
  ),
  captures: z.array(whole),
  turned: z.array(z.strictObject({ adjuster: text, turns: number, live: z.literal(true).optional() })),
});

const budget = z.strictObject({
  stage: stageName,
  measures: z.array(z.strictObject({ name: text, standardUncertaintyMm: z.number().min(0) })),
  sources: z.array(
    z.strictObject({
      source: text,
      /** Standard deviation, in the unit that the source's name ends in. */
      value: z.number().min(0).optional(),
      assumed: z.boolean(),
      /** Of the variance of each measure, in their order. */
      shares: z.array(number),
    }),
  ),
  rest: z.array(number),
  scatter: z.number().min(1),
});

const instrument = z.strictObject({
  fixtureId: text,
  board: text,
  firmwareVersion: text,
  protocol: z.string().regex(/^\d+\.\d+$/),
  calibrations: z.array(
    z.strictObject({
      version: whole,
      head,
      on: day,
      /** As it stands in the fixture: protocol/SPEC.md says what each field is. */
      body: z.record(text, z.union([number, z.array(number)])),
    }),
  ),
  master: z.strictObject({ name: text, lowMm: number, highMm: number }),
  openingErrorsMm: z.array(number),
  closingErrorsMm: z.array(number),
  trust: z.array(text),
  captures: z.strictObject({
    first: whole,
    last: whole,
    missing: z.array(z.strictObject({ from: whole, to: whole })),
  }),
  bootCounts: z.array(whole),
});

export const recordSchema = z.strictObject({
  format: z.literal(RECORD_FORMAT),
  job: z.int().min(1),
  use: z.enum(['inspection', 'levelling', 'diagnosis', 'warranty']),
  machine: z.strictObject({ model: text, invented: z.boolean(), cutHeightMm: number, serialNumber: text }),
  workOrder: text,
  technicians: z.array(text),
  simulated: z.boolean(),
  byRuler: z.boolean(),
  openedAt: time,
  closedAt: time.optional(),
  cautionsConfirmedAt: time.optional(),
  /** Left out while the job is open. */
  decision: decision.optional(),
  caps: z.array(text),
  rule: text,
  claim: z.array(
    z.strictObject({
      field: z.enum(['complaint', 'hour meter', 'delivered on', 'cause', 'correction', 'parts']),
      text,
    }),
  ),
  stages: z.array(stage),
  budgets: z.array(budget),
  withEveryReadingCounted: z.array(
    z.strictObject({ stage: stageName, decision, measures: z.array(measure) }),
  ),
  readings: z.array(reading),
  instruments: z.array(instrument),
  bay: z.strictObject({
    name: text,
    state: z.enum(['surveyed', 'expired', 'not usable', 'not surveyed', 'disagrees']),
    sentences: z.array(text),
  }),
  preparation: z.array(z.strictObject({ text, answer: text, carried: z.literal(true).optional() })),
  cautions: z.array(text),
  parts: z.array(text),
  course: z.array(text),
  labour: z.strictObject({
    rows: z.array(z.strictObject({ activity: text, seconds: number, modelledSeconds: number })),
    seconds: number,
    modelledSeconds: number,
    pausedSeconds: number,
  }),
  photos: z.array(
    z.strictObject({
      at: time,
      by: text,
      kind: z.enum(['jpeg', 'png']),
      bytes: whole,
      hash,
      kept: z.boolean(),
    }),
  ),
  seal: z.strictObject({
    writer: text,
    sequence: z.int().min(1),
    hash,
    short: z.string().regex(/^\d{4}( \d{4}){3}$/),
    key: z
      .strictObject({ fingerprint: hash, short: text, signature: z.string().regex(/^[0-9a-f]{128}$/) })
      .optional(),
    proves: text,
    provesNot: text,
  }),
  head: z.strictObject({ writer: text, sequence: z.int().min(1), hash }),
});

export type RecordJson = z.infer<typeof recordSchema>;

/** Draft 2020-12. */
export function recordJsonSchema(): object {
  const { $schema, ...schema } = z.toJSONSchema(recordSchema, { target: 'draft-2020-12' });
  return { $schema, title: 'Full record of a job', ...schema };
}

/** Pure: the same view gives the same object, and `JSON.stringify` the same bytes. */
export function recordJson(view: RecordView): RecordJson {
  const { sheet, seal } = view;
  return {
    format: RECORD_FORMAT,
    job: sheet.job,
    use: sheet.use,
    machine: {
      model: sheet.profile.model,
      invented: sheet.profile.invented,
      cutHeightMm: sheet.profile.cutHeightMm,
      serialNumber: sheet.serialNumber,
    },
    workOrder: sheet.workOrder,
    technicians: [...sheet.technicians],
    simulated: sheet.simulated,
    byRuler: sheet.byRuler,
    openedAt: sheet.openedAt,
    ...given({
      closedAt: sheet.closedAt,
      cautionsConfirmedAt: view.cautionsConfirmedAt,
      decision: sheet.decision,
    }),
    caps: [...sheet.caps],
    rule: sheet.rule,
    claim: sheet.claim.map((c) => ({ ...c })),
    stages: sheet.stages.map(stageJson),
    budgets: view.budgets.map(({ stage, budget }) => ({
      stage,
      measures: budget.measures.map((m) => ({ ...m })),
      sources: budget.sources.map((s) => ({
        ...s,
        assumed: view.assumed.includes(s.source),
        shares: [...s.shares],
      })),
      rest: [...budget.rest],
      scatter: budget.scatter,
    })),
    withEveryReadingCounted: sheet.withAll.map((w) => ({ ...w, measures: w.measures.map(measureJson) })),
    readings: view.readings.map(readingJson),
    instruments: view.instruments.map((i) => ({
      ...i,
      calibrations: i.calibrations.map((c) => ({ ...c, body: bodyJson(c.body) })),
      openingErrorsMm: [...i.openingErrorsMm],
      closingErrorsMm: [...i.closingErrorsMm],
      trust: [...i.trust],
      captures: { ...i.captures, missing: [...i.captures.missing] },
      bootCounts: [...i.bootCounts],
    })),
    bay: {
      name: sheet.bay?.name ?? '',
      state: sheet.bay?.state ?? 'not surveyed',
      sentences: [...(sheet.bay?.sentences ?? [])],
    },
    preparation: sheet.prepared.map((p) => ({ ...p })),
    cautions: [...sheet.cautions],
    parts: [...sheet.parts],
    course: [...sheet.course],
    labour: { ...sheet.labour, rows: sheet.labour.rows.map((r) => ({ ...r })) },
    photos: view.photos.map((p) => ({ ...p })),
    seal: { ...seal },
    head: { ...sheet.head },
  };
}

function stageJson(s: StageView): RecordJson['stages'][number] {
  return {
    stage: s.stage,
    decision: s.decision,
    jointProbability: s.jointProbability,
    restsOnAssumedValues: s.restsOnAssumedValues,
    measures: s.measures.map(measureJson),
    tips: s.tips.map(({ spindle, headingDeg, heightMm, expandedMm }) => ({
      spindle,
      headingDeg,
      heightMm,
      expandedMm,
    })),
    faults: s.faults.rows.map(({ parts, size, probability, status, captures }) => ({
      parts,
      size,
      probability,
      status,
      captures: [...captures],
    })),
    captures: [...s.captures],
    turned: s.turned.map((t) => ({ ...t })),
  };
}

function measureJson({
  valueMm,
  expandedMm,
  ...rest
}: MeasureRow): RecordJson['stages'][number]['measures'][number] {
  return Number.isFinite(valueMm) ? { ...rest, valueMm, expandedMm } : rest;
}

function readingJson(r: RawReading): RecordJson['readings'][number] {
  return r.by === 'ruler' ? { ...r } : { ...r, gravityMg: [...r.gravityMg] };
}

function bodyJson(body: object): Record<string, number | number[]> {
  return { ...body };
}

/** Without the fields that are undefined. */
function given<T extends object>(fields: T): { [K in keyof T]?: Exclude<T[K], undefined> } {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)) as never;
}
