/** A job of the log as the page shows it: facts, results, drawings and readings. Null: not known or nothing to draw. */
import type { Decision, Use } from '../ledger/events';
import { comparison, type Comparison } from './comparison';
import { deckPlan, type DeckMarks, type DeckPlan } from './deck-plan';
import type { HistoryOf } from './history-view';
import type { SheetView } from './sheet-view';
import { sidePicture, type SidePicture } from './side-picture';
import type { SkirtGap } from './skirt-gap';
import type { StageView } from './stage-view';
import type { Swath } from './swath';
import { atLeast, RESULT_WORDS, STAGE_TITLES, targetText, timeText, USE_TITLES } from './words';

/** One job in a list of records; without `decision` it is open. */
export interface RecordEntry {
  readonly job: number;
  readonly use: Use;
  /** When it was opened, ISO 8601 in UTC. */
  readonly at: string;
  readonly model: string;
  readonly serialNumber: string;
  readonly workOrder: string;
  readonly technicians: readonly string[];
  readonly simulated: boolean;
  readonly decision?: Decision | undefined;
}

export interface RecordPart {
  readonly job: number;
  readonly facts: readonly (readonly [name: string, value: string])[];
  readonly simulated: boolean;
  readonly decision: Decision | null;
  readonly word: string;
  readonly caps: readonly string[];
  readonly results: readonly {
    readonly title: string;
    readonly decision: Decision;
    readonly word: string;
    readonly probability: number;
    readonly probabilityText: string;
    readonly turning: readonly string[];
  }[];
  readonly plan: DeckPlan;
  /** Heights of the tips as the machine leaves. */
  readonly marks: DeckMarks;
  readonly side: SidePicture | null;
  readonly comparison: Comparison | null;
  readonly swath: Swath | null;
  readonly swathBefore: Swath | null;
  readonly skirtGap: SkirtGap | null;
  readonly readings: readonly {
    readonly text: string;
    readonly heightMm: number;
    readonly by: string;
    readonly setAside: string | null;
  }[];
  readonly course: readonly string[];
  readonly fixtures: readonly string[];
  /** What this job can be laid beside others by. */
  readonly histories: readonly { readonly of: HistoryOf; readonly name: string }[];
}

export function recordPart(view: SheetView): RecordPart {
  const { stages, profile } = view;
  const [came, now] = [stages[0], stages.at(-1)];
  return {
    job: view.job,
    facts: factsOf(view),
    simulated: view.simulated,
    decision: view.decision ?? null,
    word: view.decision === undefined ? 'open' : RESULT_WORDS[view.decision],
    caps: view.caps,
    results: stages.map((stage) => ({
      title: STAGE_TITLES[stage.stage],
      decision: stage.decision,
      word: RESULT_WORDS[stage.decision],
      probability: stage.jointProbability,
      probabilityText: atLeast(stage.jointProbability),
      turning: stage.turningLines ?? [],
    })),
    plan: deckPlan(profile),
    marks: { taken: now === undefined ? [] : takenTips(now) },
    side: sidePicture(profile, stages) ?? null,
    comparison: comparison(profile, stages) ?? null,
    swath: now?.swath ?? null,
    swathBefore: stages.length > 1 ? (came?.swath ?? null) : null,
    skirtGap: now?.skirtGap ?? null,
    readings: view.readings.map((r) => ({
      text: r.target.kind === 'watch' ? 'watched while it was moved' : targetText(r.target),
      heightMm: r.heightMm,
      by: r.by === 'ruler' ? 'ruler' : `${r.fixtureId}, capture ${r.number}`,
      setAside: r.setAside ?? null,
    })),
    course: view.course,
    fixtures: view.fixtures.flatMap((f) => [
      `Fixture ${f.fixtureId}, firmware ${f.firmwareVersion}, calibration ${f.calibrationVersion}`,
      ...(f.trust ?? []),
    ]),
    histories: historiesOf(view),
  };
}

function factsOf(view: SheetView): RecordPart['facts'] {
  const { profile, serialNumber, workOrder, technicians, openedAt, closedAt } = view;
  const given = (name: string, value: string): [string, string][] => (value === '' ? [] : [[name, value]]);
  return [
    ['what for', USE_TITLES[view.use]],
    ['machine', profile.model],
    ...given('serial number', serialNumber),
    ...given('work order', workOrder),
    ...given('technician', technicians.join(', ')),
    ['opened', timeText(openedAt)],
    ['closed', closedAt === undefined ? 'still open' : timeText(closedAt)],
  ];
}

function historiesOf({ serialNumber, profile, technicians, fixtures }: SheetView): RecordPart['histories'] {
  return [
    ...(serialNumber === '' ? [] : [{ of: 'serial number' as const, name: serialNumber }]),
    { of: 'model' as const, name: profile.model },
    ...technicians.filter((name) => name !== '').map((name) => ({ of: 'technician' as const, name })),
    ...fixtures.map((f) => ({ of: 'fixture' as const, name: f.fixtureId })),
  ];
}

function takenTips({ tips }: StageView): DeckMarks['taken'] {
  return tips.map((tip, i) => ({
    number: i + 1,
    spindle: tip.spindle,
    headingDeg: tip.headingDeg,
    xMm: tip.xMm,
    yMm: tip.yMm,
    ends: [{ end: 'A', heightMm: tip.heightMm }],
  }));
}
