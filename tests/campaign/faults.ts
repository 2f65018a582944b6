/**
 * Machines with one fault put in, at two to three times its limit: does the tool name the part that is at fault? And good
 * machines: does it leave them alone? The simulated technician refits blades when the job asks for it.
 */
import { listProfiles } from '../../host/machines/load';
import type { MachineProfile } from '../../host/machines/profile';
import type { Explanation, Faults, Finding } from '../../protocol/solver';
import type { Fault } from '../../host/simulation/population';
import { seededRandom } from '../../host/simulation/random';
import { directJob, type DirectOptions } from './direct-job';
import { drawMachine } from './population';

export const KINDS = ['bent blade', 'bent shaft', 'high spindle', 'tilted spindle'] as const;
type Kind = (typeof KINDS)[number];

/** What the tool calls each of them. */
const CALLED: Record<Kind, Explanation['kind']> = {
  'bent blade': 'bent blade',
  'bent shaft': 'bent shaft or dirty hub face',
  'high spindle': 'spindle high or low',
  'tilted spindle': 'spindle tilted',
};

/** The shop limit of every part, at the tip; the profiles give the same for bend. */
const LIMIT_MM = 3;

export interface Row {
  readonly model: string;
  readonly kind: Kind;
  jobs: number;
  /** The part alone was named. */
  alone: number;
  /** It was named together with others that the readings cannot tell from it. */
  grouped: number;
  /** Parts named in those groups, to see whether they say anything. */
  groupSizes: number;
  /** Something else was named instead. */
  wrong: number;
  missed: number;
  /** The tool says from the plan of the readings that this part's fault may not show; and it was named all the same. */
  hidden: number;
  hiddenNamed: number;
  /** A further part was named beside the right one. */
  besides: number;
  /** What stood first, by the tool's name for it. */
  readonly named: Record<string, number>;
}

export interface FaultFigures {
  readonly rows: readonly Row[];
  readonly good: readonly { readonly model: string; readonly jobs: number; readonly alarms: number }[];
  /** Right alone or grouped, of those whose fault the tool does not call hidden. */
  readonly right: number;
  readonly shown: number;
  readonly goodJobs: number;
  readonly alarms: number;
}

export interface FaultCampaignOptions {
  /** Jobs for each machine and kind of fault, and for each good machine. */
  readonly jobs: number;
  readonly seed: number;
  /** A careful shop with the widths that the solver assumes, or the campaign's mismatched population (population.ts). */
  readonly population: 'careful' | 'mismatched';
  /** `full` is the one for diagnosis. */
  readonly sequence: 'quick' | 'full';
}

export function faultCampaign({ jobs, seed, population, sequence }: FaultCampaignOptions): FaultFigures {
  const profiles = listProfiles();
  const explain: Explain = (i, profile, fault) =>
    explained(seed + i, profile, { ...worldOf(population, seed, i, profile), sequence }, fault);
  const rows = profiles.flatMap((profile) =>
    KINDS.map((kind) => faultRow(profile, kind, jobs, seed, explain)),
  );
  const good = profiles.map((profile) => {
    let alarms = 0;
    for (let i = 0; i < jobs; i += 1) if (named(explain(i, profile)).some(isOfAPart)) alarms += 1;
    return { model: profile.model, jobs, alarms };
  });
  const sum = (of: (row: Row) => number) => rows.reduce((total, row) => total + of(row), 0);
  return {
    rows,
    good,
    right: sum((r) => r.alone + r.grouped),
    shown: sum((r) => r.jobs - r.hidden),
    goodJobs: profiles.length * jobs,
    alarms: good.reduce((total, g) => total + g.alarms, 0),
  };
}

type Explain = (job: number, profile: MachineProfile, fault?: Fault) => Faults;

/** Everything about shop, people and fixture but the fault; wear is what is no fault. */
function worldOf(
  population: FaultCampaignOptions['population'],
  seed: number,
  job: number,
  profile: MachineProfile,
): DirectOptions {
  if (population === 'careful') return {};
  const { shop, wear, fixture } = drawMachine(seed, 2 * job + 2, [profile]);
  return { ...shop, faults: wear, fixture };
}

function faultRow(profile: MachineProfile, kind: Kind, jobs: number, seed: number, explain: Explain): Row {
  const row: Row = {
    model: profile.model,
    kind,
    jobs,
    alone: 0,
    grouped: 0,
    groupSizes: 0,
    wrong: 0,
    missed: 0,
    hidden: 0,
    hiddenNamed: 0,
    besides: 0,
    named: {},
  };
  for (let i = 0; i < jobs; i += 1) {
    const { fault, spindle } = drawFault(profile, kind, seed + i);
    count(row, explain(i, profile, fault), spindle);
  }
  return row;
}

function drawFault(profile: MachineProfile, kind: Kind, seed: number): { fault: Fault; spindle: number } {
  const random = seededRandom(seed).split(`fault ${kind}`);
  const index = Math.floor(random.uniform() * profile.spindles.length);
  const { name: spindle, tipRadiusMm } = profile.spindles[index] ?? { name: '', tipRadiusMm: 1 };
  const sizeMm = LIMIT_MM * random.between(2, 3) * (random.chance(0.5) ? 1 : -1);
  const direction = random.between(0, 2 * Math.PI);
  const slope = sizeMm / (2 * tipRadiusMm);
  switch (kind) {
    case 'bent blade':
    case 'bent shaft':
      return { spindle: index, fault: { kind, spindle, differenceMm: sizeMm } };
    case 'high spindle':
      return { spindle: index, fault: { kind, spindle, heightMm: sizeMm } };
    case 'tilted spindle':
      return {
        spindle: index,
        fault: { kind, spindle, slopeX: slope * Math.cos(direction), slopeY: slope * Math.sin(direction) },
      };
  }
}

/** What the tool says of the machine as it came, after the refits that it asked for. */
function explained(seed: number, profile: MachineProfile, world: DirectOptions, fault?: Fault): Faults {
  const faults = [...(world.faults ?? []), ...(fault === undefined ? [] : [fault])];
  const job = directJob(seed, profile, { ...world, faults, untilTurning: true });
  const arrival = job.stages.filter((s) => s.stage === 'arrival').at(-1);
  if (arrival === undefined) throw new Error(`seed ${seed}: the machine was never read`);
  return arrival.assessment.faults();
}

/** Findings that are more likely than not beyond their limit: what a technician is told to act on. */
function named({ findings }: Faults): Finding[] {
  return findings.filter((f) => (f.explanations[0]?.beyondLimit ?? 0) > 0.5);
}

/** A part is said to be at fault, not a reading, a label or the floor. */
function isOfAPart({ explanations }: Finding): boolean {
  const kind = explanations[0]?.kind;
  return kind !== 'one bad reading' && kind !== 'wrong heading or wrong tip' && kind !== 'floor';
}

function count(row: Row, faults: Faults, spindle: number): void {
  const kind = CALLED[row.kind];
  const isTruth = (e: { kind: Explanation['kind']; spindle: number }) =>
    e.kind === kind && e.spindle === spindle;
  const findings = named(faults);
  const right = findings.find((f) => f.explanations.some(isTruth));
  const first = (right ?? findings[0])?.explanations[0];
  const called = first === undefined ? 'nothing' : first.kind;
  row.named[called] = (row.named[called] ?? 0) + 1;
  if (faults.hidden.some(isTruth)) {
    row.hidden += 1;
    if (right !== undefined) row.hiddenNamed += 1;
  } else if (right !== undefined) {
    if (right.explanations.length === 1) row.alone += 1;
    else {
      row.grouped += 1;
      row.groupSizes += right.explanations.length;
    }
    if (findings.length > 1) row.besides += 1;
  } else if (findings.length > 0) row.wrong += 1;
  else row.missed += 1;
}

/** The figures as lines for a terminal or a committed result. */
export function faultText(
  figures: FaultFigures,
  { population, sequence }: Pick<FaultCampaignOptions, 'population' | 'sequence'>,
): string[] {
  const percent = (part: number, all: number) => (all === 0 ? '-' : `${((100 * part) / all).toFixed(1)} %`);
  const cells = (r: Row) => [
    r.model,
    r.kind,
    `${r.jobs}`,
    `${r.alone}`,
    r.grouped === 0 ? '0' : `${r.grouped} (of ${(r.groupSizes / r.grouped).toFixed(1)} parts)`,
    `${r.wrong}`,
    `${r.missed}`,
    r.hidden === 0 ? '0' : `${r.hiddenNamed} of ${r.hidden}`,
    `${r.besides}`,
    percent(r.alone + r.grouped, r.jobs - r.hidden),
    Object.entries(r.named)
      .sort(([, a], [, b]) => b - a)
      .map(([name, times]) => `${name} ${times}`)
      .join(', '),
  ];
  const head = [
    'machine',
    'fault put in',
    'jobs',
    'named alone',
    'in a group',
    'other named',
    'missed',
    'of those that may not show',
    'another besides',
    'right of those that show',
    'first name given',
  ];
  const table = [head, ...figures.rows.map(cells)];
  const widths = head.map((_, i) => Math.max(...table.map((cell) => (cell[i] ?? '').length)));
  return [
    `One fault of two to three times its limit (3 mm at the tip) in each simulated machine, ${population} population, ${sequence} sequence; blades refitted when asked`,
    ...table.map((line) =>
      line
        .map((cell, i) => cell.padEnd(widths[i] ?? 0))
        .join('  ')
        .trimEnd(),
    ),
    `right part named, alone or in its group, where the tool does not say that it may not show: ${figures.right} of ${figures.shown} (${percent(figures.right, figures.shown)})`,
    `good machines: a part called at fault on ${figures.alarms} of ${figures.goodJobs} (${percent(figures.alarms, figures.goodJobs)}): ${figures.good.map((g) => `${g.model} ${g.alarms}`).join(', ')}`,
  ];
}
