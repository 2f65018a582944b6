/**
 * Random walks through the procedure: whatever a technician answers, forgets, corrects or pulls out, there is a way on, no
 * capture is lost, no job closes while a fixture may be on a blade, and the log replays to the same views. The walker keeps
 * its own account of captures and fixtures; it asks the procedure only what to do next.
 */
import { captureHeightUm } from '../../protocol/solver';
import type { Body } from '../../protocol/wire/messages';
import type { JobEvent, StepTarget, StoredEvent, Use } from '../../host/ledger/events';
import { loadProfile } from '../../host/machines/load';
import type { MachineProfile } from '../../host/machines/profile';
import { refusal } from '../../host/procedure/admit';
import {
  askedEvent,
  assessedEvent,
  eventsFor,
  type AnswerTo,
  type Question,
} from '../../host/procedure/answer';
import { apply, replay, type JobState } from '../../host/procedure/state';
import { nextTask, type Task } from '../../host/procedure/task';
import { seededRandom, type Random } from '../../host/simulation/random';
import { sheetView } from '../../host/views/sheet-view';
import { CALIBRATIONS, IDENTITY } from './direct-job';

export interface WalkFigures {
  readonly steps: number;
  readonly jobs: number;
  readonly captures: number;
  /** Events that were tried out of turn, and how many of them were refused with a number. */
  readonly outOfTurn: number;
  readonly refused: number;
  readonly tasksSeen: readonly string[];
  readonly eventsSeen: readonly string[];
  /** Empty when every promise was kept. */
  readonly broken: readonly string[];
}

const USES: readonly Use[] = ['inspection', 'levelling', 'diagnosis', 'warranty'];
/** From here on the technician only does what is asked, so that the job has to come to its end. */
const WILD_STEPS = 150;
const MOST_STEPS = 900;

/** Walks jobs of two machines until so many steps are done. */
export function walk(options: { readonly steps: number; readonly seed: number }): WalkFigures {
  const profiles = [loadProfile('pimwick-76'), loadProfile('orrinshaw-106')];
  const total = { steps: 0, jobs: 0, captures: 0, outOfTurn: 0, refused: 0 };
  const broken: string[] = [];
  const tasksSeen = new Set<string>();
  const eventsSeen = new Set<string>();
  while (total.steps < options.steps && broken.length === 0) {
    const random = seededRandom(options.seed).split(`walk ${total.jobs}`);
    const walker = new Walker(random, profiles[total.jobs % 2], USES[total.jobs % 4]);
    walker.walk();
    total.jobs += 1;
    total.steps += walker.steps;
    total.captures += walker.captures;
    total.outOfTurn += walker.outOfTurn;
    total.refused += walker.refused;
    broken.push(...walker.broken.map((text) => `job ${total.jobs - 1}: ${text}`));
    for (const task of walker.tasksSeen) tasksSeen.add(task);
    for (const { type } of walker.events) eventsSeen.add(type);
  }
  return { ...total, tasksSeen: [...tasksSeen].sort(), eventsSeen: [...eventsSeen].sort(), broken };
}

export function walkText(figures: WalkFigures): string[] {
  const { steps, jobs, captures, outOfTurn, refused, tasksSeen, eventsSeen, broken } = figures;
  return [
    `${steps} steps in ${jobs} jobs of the four uses, ${captures} captures`,
    `  out of turn: ${outOfTurn} events tried, ${refused} refused with a number`,
    `  tasks met: ${tasksSeen.join(', ')}`,
    `  events met: ${eventsSeen.join(', ')}`,
    broken.length === 0
      ? '  kept throughout: a way on in every state, no capture lost or doubled, no close with a fixture on a blade, the same views from every log'
      : `  BROKEN: ${broken.join('; ')}`,
  ];
}

class Walker {
  readonly events: JobEvent[] = [];
  readonly broken: string[] = [];
  readonly tasksSeen = new Set<string>();
  steps = 0;
  captures = 0;
  outOfTurn = 0;
  refused = 0;
  private state: JobState;
  /** The walker's own account: fixtures that may be on a blade, with the edges of the master seen since. */
  private readonly onBlade = new Map<string, Set<string>>();
  private reopenings = 0;
  private readonly bendMm: number;
  private readonly tilt: readonly [number, number, number];

  constructor(
    private readonly random: Random,
    private readonly profile: MachineProfile,
    use: Use,
  ) {
    this.tilt = [random.normal(2), random.normal(0.006), random.normal(0.006)];
    this.bendMm = random.chance(0.3) ? 4 : 0;
    const opened: JobEvent = {
      type: 'job opened',
      job: 1,
      use,
      profile,
      serialNumber: 'INVENTED',
      workOrder: '',
      technician: 'walker',
      simulated: true,
      ...(random.chance(0.3)
        ? { carried: { fromJob: 9, fromSerial: 'INVENTED-9', answers: answersOf(profile) } }
        : {}),
      sequence: use === 'diagnosis' || use === 'warranty' ? 'full' : 'quick',
    };
    this.state = apply(undefined, opened);
    this.events.push(opened);
  }

  walk(): void {
    while (this.broken.length === 0) {
      const task = nextTask(this.state);
      this.tasksSeen.add(task.do);
      if (task.do === 'nothing' && !this.reopens()) break;
      if (this.steps > MOST_STEPS) {
        this.broken.push(`does not end: ${task.do} after ${this.steps} steps`);
        break;
      }
      this.steps += 1;
      const wild = this.steps < WILD_STEPS;
      if (wild && this.random.chance(0.15)) this.disturb();
      else if (task.do !== 'nothing') this.obey(task, wild);
      this.account();
    }
    this.replayed();
  }

  private reopens(): boolean {
    if (this.reopenings > 0 || !this.random.chance(0.2)) return false;
    this.reopenings += 1;
    const readAgain = this.random.chance(0.5) ? { toReadAgain: true as const } : {};
    this.take({ type: 'job reopened', job: 1, by: 'walker', reason: 'to look again', ...readAgain });
    return true;
  }

  /** Does what is asked, with any of the answers that there are. */
  private obey(task: Exclude<Task, { do: 'nothing' }>, wild: boolean): void {
    switch (task.do) {
      case 'join fixture':
        return this.join('walk 1');
      case 'read':
        return this.read(task, wild);
      case 'assess':
        return this.take(assessedEvent(task, this.state));
      case 'close':
        return this.take({ type: 'job closed', job: 1, decision: task.decision });
      default:
        for (const event of eventsFor(task, this.answer(task, wild), this.state)) this.take(event);
    }
  }

  private answer(task: Question, wild: boolean): AnswerTo<Question> {
    const either = <T>(a: T, b: T): T => (this.random.chance(wild ? 0.7 : 1) ? a : b);
    switch (task.do) {
      case 'prepare': {
        const { number } = task.item;
        if (number === undefined) return either<'yes' | 'no'>('yes', 'no');
        return either(number.lower, number.upper + 1);
      }
      case 'carry over':
        return either('the same', 'one by one');
      case 'state claim':
        return { text: 'stated' };
      case 'expired floor':
        return either('put aside', 'kept');
      case 'shim wheels':
        return task.twist.shims[0] ?? 'none';
      case 'feel hanger':
        return either('carrying', 'slack');
      case 'read by ruler':
        return { heightMm: this.heightMm(task.target) };
      case 'check reading':
        return either<'uphold' | { setAside: string }>('uphold', { setAside: 'clamped wrong' });
      case 'turn':
        return task.canBeLive === true && this.random.chance(0.4) ? 'by the live height' : 'done';
      case 'check turning':
        return task.findings[0] ?? { what: 'as said' };
      case 'refit blade':
        return either('half a turn round', 'not now');
      case 'swap blade':
        return either('swapped', 'not now');
      case 'push and pull':
        return either<{ lowMm: number; highMm: number } | 'not now'>(
          { lowMm: task.startMm - 0.1, highMm: task.startMm + 0.1 },
          'not now',
        );
      case 'decide part':
        return either('not now', 'replaced');
      case 'offer levelling':
        return either('level it now', 'leave it');
      case 'confirm cautions':
      case 'seat deck':
      case 'take up':
      case 'tighten':
        return 'done';
    }
  }

  private join(fixtureId: string): void {
    this.take({
      type: 'fixture joined',
      job: 1,
      fixture: { ...IDENTITY, fixtureId },
      calibrations: CALIBRATIONS,
    });
  }

  private read(task: Extract<Task, { do: 'read' }>, wild: boolean): void {
    const asked = askedEvent(task, this.state);
    this.take(asked);
    const fixtureId = asked.fixtureId ?? 'walk 1';
    // The job may be left here: the step stays asked and no capture comes.
    if (wild && this.random.chance(0.03)) return;
    if (wild && asked.target.kind === 'tip' && this.random.chance(0.03))
      return this.take({ type: 'clamped anew', job: 1, step: asked.step });
    this.capture(fixtureId, asked.step, asked.target, 1);
  }

  private capture(fixtureId: string, step: number, target: StepTarget, job: number): void {
    this.captures += 1;
    const gross = this.random.chance(0.03) ? this.random.normal(4) : 0;
    const heightMm = this.heightMm(target) + gross;
    const capture = bodyOf(heightMm, this.captures, step, job);
    this.take({ type: 'captured', job: 1, fixtureId, capture });
    // The fixture sends what is not acknowledged again: the ledger answers that, not the procedure.
  }

  /** What an invented machine shows; turning does not move it, which the procedure has to live with. */
  private heightMm(target: StepTarget): number {
    if (target.kind === 'master') return (target.edge === 'low' ? 35 : 85) + this.random.normal(0.02);
    const spindle = this.profile.spindles.find((s) => s.name === target.spindle);
    if (spindle === undefined) return 70;
    const heading = (target.headingDeg * Math.PI) / 180;
    const x = spindle.xMm + spindle.tipRadiusMm * Math.cos(heading);
    const y = spindle.yMm + spindle.tipRadiusMm * Math.sin(heading);
    const [up, forward, left] = this.tilt;
    const bend = spindle === this.profile.spindles[0] ? this.bendMm * (target.end === 'A' ? 1 : -1) : 0;
    return this.profile.cutHeightMm + bend + up + forward * (x - 700) + left * y + this.random.normal(0.3);
  }

  /** Something that nobody asked for: it happens, or is refused with a number and changes nothing. */
  private disturb(): void {
    const { state, random } = this;
    const reading = state.readings[Math.floor(random.uniform() * state.readings.length)];
    const which = { job: 1, fixtureId: reading?.fixtureId ?? 'none', capture: reading?.number ?? 0 };
    const spindle = this.profile.spindles[0]?.name ?? '';
    const hanger = this.profile.hangers[0]?.name ?? '';
    const adjuster = this.profile.adjusters[0]?.name ?? '';
    const item = this.profile.preparation[0]?.id ?? '';
    const fixtureId = random.chance(0.5) ? 'walk 1' : 'walk 2';
    const decisions = ['pass', 'fail', 'undecided'] as const;
    const tries: readonly JobEvent[] = [
      { type: 'job closed', job: 1, decision: decisions[Math.floor(random.uniform() * 3)] ?? 'pass' },
      { type: 'fixture lost', job: 1, fixtureId, error: 206 },
      { type: 'fixture joined', job: 1, fixture: { ...IDENTITY, fixtureId }, calibrations: CALIBRATIONS },
      { type: 'set aside', ...which, reason: 'looked wrong' },
      { type: 'restored', ...which, ...asideOf(state), reason: 'was right' },
      { type: 'tip corrected', ...which, spindle, headingDeg: 90, end: 'B' },
      { type: 'hanger felt', job: 1, hanger, state: 'slack' },
      { type: 'turned', job: 1, adjuster, turns: 1 },
      { type: 'turn corrected', job: 1, adjuster, turns: 0.5 },
      { type: 'prepared', job: 1, item, answer: 'yes' },
      { type: 'claim stated', job: 1, field: 'complaint', text: 'another' },
      { type: 'handed over', job: 1, to: 'somebody else' },
      { type: 'live turning', job: 1, on: false },
      { type: 'tightened', job: 1 },
      { type: 'deck seated', job: 1, seating: state.lastSeating + 1 },
      { type: 'assessed', job: 1, stage: 'arrival', decision: 'pass', jointProbability: 1 },
      { type: 'fixture accounted for', job: 1, fixtureId, by: 'walker', reason: 'broken, in my hand' },
      ...(random.chance(0.2) ? [{ type: 'ruler taken up', job: 1, expandedMm: 1.5 } as const] : []),
      ...(random.chance(0.03) ? [{ type: 'given up', job: 1, reason: 'no time' } as const] : []),
    ];
    if (random.chance(0.1))
      return this.capture('walk 1', state.lastStep + 7, { kind: 'master', edge: 'low', when: 'opening' }, 2);
    const event = tries[Math.floor(random.uniform() * tries.length)];
    if (event === undefined) return;
    this.outOfTurn += 1;
    const refused = refusal(state, event);
    if (refused === undefined) this.take(event);
    else {
      this.refused += 1;
      if (!(refused.number >= 400 && refused.number < 500 && refused.nextStep !== ''))
        this.broken.push(`${event.type} refused without a number of ours: ${refused.message}`);
    }
  }

  private take(event: JobEvent): void {
    const refused = refusal(this.state, event);
    if (refused !== undefined) {
      this.broken.push(
        `no way on: ${event.type} is refused (${refused.message}) while asked to ${nextTask(this.state).do}`,
      );
      return;
    }
    if (event.type === 'job closed' && [...this.onBlade.values()].some((edges) => edges.size < 2))
      this.broken.push(`closed with a fixture on a blade: ${[...this.onBlade.keys()].join()}`);
    this.noteFixture(event);
    this.state = apply(this.state, event);
    this.events.push(event);
  }

  private noteFixture(event: JobEvent): void {
    if (event.type === 'step asked' && event.fixtureId !== undefined && event.target.kind !== 'master')
      this.onBlade.set(event.fixtureId, new Set());
    else if (event.type === 'fixture accounted for') this.onBlade.delete(event.fixtureId);
    else if (event.type === 'captured') {
      const target = this.state.steps[event.capture.step]?.target;
      if (target?.kind === 'master' && target.when === 'closing' && event.capture.job === 1)
        this.onBlade.get(event.fixtureId)?.add(target.edge);
    }
  }

  private account(): void {
    const kept = this.state.readings.filter((r) => r.by === 'fixture').length + this.state.foreign.length;
    if (kept !== this.captures) this.broken.push(`${this.captures} captures came, ${kept} are kept`);
  }

  /** From the log as it would be read back, the same state and the same sheet. */
  private replayed(): void {
    const stored = this.events.map((event, i): StoredEvent => ({
      writer: 'walk',
      sequence: i + 1,
      at: '2026-01-01T00:00:00.000Z',
      event,
      hash: 'h',
    }));
    const again = JSON.parse(JSON.stringify(stored)) as StoredEvent[];
    const state = replay(again.map((s) => s.event));
    if (JSON.stringify(state) !== JSON.stringify(this.state)) this.broken.push('replays to another state');
    if (JSON.stringify(sheetView(again)) !== JSON.stringify(sheetView(stored)))
      this.broken.push('replays to another sheet');
  }
}

/** A reading that was set aside, where there is one. */
function asideOf({ readings }: JobState): { fixtureId?: string; capture?: number } {
  const aside = readings.find((r) => r.setAside !== undefined);
  return aside === undefined ? {} : { fixtureId: aside.fixtureId, capture: aside.number };
}

function answersOf(profile: MachineProfile) {
  const answers = profile.preparation.map(
    ({ id, number }) => [id, number === undefined ? 'yes' : number.lower] as const,
  );
  return Object.fromEntries(answers);
}

function bodyOf(heightMm: number, capture: number, step: number, job: number): Body<'captured'> {
  const calibration = CALIBRATIONS[0];
  if (calibration === undefined) throw new Error('no calibration');
  // The head is low: its edge stands 40 mm under the origin of the distance (direct-job.ts).
  const raw = {
    countsMean: Math.round((heightMm + 40) * 100_000),
    gravityX: 0,
    gravityY: 0,
    gravityZ: 1_000_000,
    temperature: 2000,
  };
  const { distanceUm, heightUm } = captureHeightUm(calibration, raw);
  return {
    ...raw,
    capture,
    step,
    job,
    bootCount: 1,
    uptimeMs: 0,
    purpose: 0,
    trigger: 0,
    headPosition: 0,
    calibrationVersion: 1,
    samples: 40,
    countsSd: 2000,
    drift: 0,
    turned: 0,
    waitedMs: 0,
    distance: distanceUm,
    height: heightUm,
  };
}
