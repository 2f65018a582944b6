/**
 * Somebody at a screen who does anything that a screen lets one do, and more: any answer, answers that are too late, jobs
 * laid aside and taken up, records put right, cables pulled, power cut, noise on the line, the server ended and begun
 * again. The shop is simulated; desk, link, firmware and log are the real thing.
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { simulatedDesk } from '../../../host/cli/simulated-desk';
import { correctionEvent, type Correction } from '../../../host/desk/correction';
import { openDesk } from '../../../host/desk/desk';
import type { JobOrder } from '../../../host/desk/order';
import { NumberedError } from '../../../host/errors/errors';
import { openLedger, type Ledger } from '../../../host/ledger/ledger';
import { machinesOnShelf } from '../../../host/machines/shelf';
import { seededRandom, type Random } from '../../../host/simulation/random';
import type { BayScreen, QuestionPart } from '../../../host/views/bay-screen';
import { sheetView } from '../../../host/views/sheet-view';

export interface DeskWalk {
  readonly jobs: number;
  readonly captures: number;
  /** What was done, and with which error it was refused, how often. */
  readonly did: Readonly<Record<string, number>>;
  /** What must not be; empty when all is well. */
  readonly broken: readonly string[];
}

/** Simulated seconds in a second: as many as keep a computer of two cores from falling behind. */
const PACE = 12;
/** After so long without a question, a result or a reason something hangs. */
const STALLED_MS = 60_000;
/** The fault in the tool itself. */
const TOOL_FAULT = 499;

/** Ends after so many minutes or so many deeds, whichever is first. */
export async function walkAtDesk({
  minutes = Infinity,
  deeds = Infinity,
  seed,
}: {
  minutes?: number;
  deeds?: number;
  seed: number;
}): Promise<DeskWalk> {
  const folder = mkdtempSync(join(tmpdir(), 'swathplane-desk-'));
  const walk = new Walk(join(folder, 'bay.swathplane-log'), seededRandom(seed), seed);
  const crash = (error: unknown) => void walk.broken.push(`nobody caught ${textOf(error)}`);
  process.on('unhandledRejection', crash);
  try {
    const end = Date.now() + minutes * 60_000;
    for (let n = 0; n < deeds && Date.now() < end && walk.broken.length === 0; n += 1) await walk.step();
    return await walk.ended();
  } finally {
    process.off('unhandledRejection', crash);
    rmSync(folder, { recursive: true, maxRetries: 5 });
  }
}

export function deskWalkText({ jobs, captures, did, broken }: DeskWalk): string[] {
  return [
    `${jobs} jobs, ${captures} captures`,
    ...Object.entries(did)
      .sort(([a], [b]) => a.localeCompare(b))
      .map(([what, times]) => `  ${what}: ${times}`),
    ...(broken.length === 0
      ? [
          'kept throughout: a question, a result or a reason at any time; every refusal numbered; no capture twice; log and sheets whole',
        ]
      : broken),
  ];
}

class Walk {
  readonly broken: string[] = [];
  private readonly did: Record<string, number> = {};
  private readonly lately: string[] = [];
  private readonly models: readonly string[];
  private jobs = 0;
  private isUnplugged = false;
  private bay: ReturnType<typeof openBay>;

  constructor(
    private readonly log: string,
    private readonly random: Random,
    private readonly seed: number,
  ) {
    this.models = machinesOnShelf(log).map((m) => m.model);
    this.bay = openBay(log, seed);
  }

  /** One thing that somebody does. */
  async step(): Promise<void> {
    const found = await this.awaited();
    const screen = this.bay.desk.screen();
    if (found === 'session') return this.atSession(screen);
    if (found === 'free') return this.begin(screen);
    if (found === 'trouble') return this.goOn(screen);
    const question = screen.job?.question ?? null;
    if (screen.job !== null && question !== null) await this.atJob(screen, screen.job.job, question);
  }

  async ended(): Promise<DeskWalk> {
    await this.bay.desk.close();
    const ledger = openLedger(this.log, { writer: 'bay 1', now: () => new Date() });
    const captures = this.checkLog(ledger);
    ledger.close();
    return { jobs: this.jobs, captures, did: this.did, broken: this.broken };
  }

  /** Opening the log has verified its chain. No capture may stand in it twice, and every sheet can be drawn. */
  private checkLog(ledger: Ledger): number {
    const seen = new Set<string>();
    for (let job = 1; job <= this.jobs; job += 1) {
      for (const { event } of ledger.events(job)) {
        if (event.type !== 'captured') continue;
        const key = `${event.fixtureId} ${event.capture.capture}`;
        if (seen.has(key)) this.broken.push(`capture ${key} stands twice in the log`);
        seen.add(key);
      }
    }
    return seen.size;
  }

  /** Until there is something to do. */
  private async awaited(): Promise<'question' | 'free' | 'trouble' | 'session'> {
    const from = Date.now();
    for (;;) {
      const { bay, job, session } = this.bay.desk.screen();
      const waitedMs = Date.now() - from;
      if (session !== null) {
        if (session.done !== null || session.trouble !== null || isOpen(session.question)) return 'session';
      } else if (job === null || job.closed !== null) return 'free';
      else if (bay.trouble !== null && (!bay.trouble.retried || waitedMs > 10_000)) return 'trouble';
      else if (isOpen(job.question)) return 'question';
      if (this.isUnplugged && waitedMs > 150) this.plugIn();
      if (waitedMs > STALLED_MS) {
        const asked = JSON.stringify(job?.question ?? session?.question);
        this.broken.push(`nothing more happens: ${asked}; ${this.lately.join(' | ')}`);
        return 'free';
      }
      await pause(2);
    }
  }

  private async begin(screen: BayScreen): Promise<void> {
    const { random } = this;
    const { desk } = this.bay;
    const closed = screen.job?.job;
    if (closed !== undefined) {
      this.note(`closed: ${screen.job?.closed?.decision ?? 'not'}`);
      if (sheetView(desk.ledger.events(closed)) === undefined) this.broken.push(`job ${closed} has no sheet`);
    }
    if (closed !== undefined && random.chance(0.15)) {
      const again = random.chance(0.5) ? { toReadAgain: true as const } : {};
      const opened = { what: 'job reopened', by: 'somebody', reason: 'to look again', ...again } as const;
      return this.tried('open again', () => desk.putRight(closed, [correctionEvent(closed, opened)]));
    }
    if (random.chance(0.1)) return this.restart();
    if (random.chance(0.1))
      return this.tried('begin a check', () => desk.sessions.begin({ use: 'check', technician: '' }));
    const other = this.any(screen.bay.openJobs);
    if (other !== undefined && random.chance(0.1))
      return this.tried('take up another', () => desk.resume(other.job));
    if (closed !== undefined && random.chance(0.2))
      return this.tried('next of the batch', () => this.counted(desk.next(`INVENTED-${this.jobs}`)));
    return this.tried('open', () => this.counted(desk.open(this.order())));
  }

  private counted(job: number): void {
    this.jobs = Math.max(this.jobs, job);
  }

  private order(): JobOrder {
    const { random } = this;
    return {
      use: this.one(['inspection', 'levelling', 'diagnosis', 'warranty']),
      model: this.one(this.models),
      serialNumber: this.one(['', 'INVENTED-1', 'INVENTED-2', 'Ž-7']),
      workOrder: '',
      technician: this.one(['', 'Ola Invented']),
      ...(random.chance(0.3) ? { batch: true } : {}),
      ...(random.chance(0.15) ? { rulerMm: 1.5 } : {}),
      ...(random.chance(0.1) ? { heightMm: 60 } : {}),
      ...(random.chance(0.2) ? { sequence: this.one(['quick', 'full']) } : {}),
    };
  }

  private async goOn({ bay }: BayScreen): Promise<void> {
    this.note(`in trouble: E${bay.trouble?.number}`);
    if (bay.trouble?.number === TOOL_FAULT)
      this.broken.push(`${bay.trouble.about}; ${this.lately.join(' | ')}`);
    if (this.isUnplugged) this.plugIn();
    this.bay.desk.goOn();
    await pause(50);
  }

  private async atSession({ session }: BayScreen): Promise<void> {
    const { desk } = this.bay;
    const question = session?.question ?? null;
    if (session?.trouble?.number === TOOL_FAULT) this.broken.push(session.trouble.about);
    if (question === null || this.random.chance(0.1))
      return this.tried('end a check', () => desk.sessions.leave());
    return this.answer(question);
  }

  private async atJob(screen: BayScreen, job: number, question: QuestionPart): Promise<void> {
    const { desk, bench } = this.bay;
    const deeds: readonly (readonly [share: number, deed: () => Promise<void>])[] = [
      [0.02, () => this.unplug()],
      [0.01, () => this.tried('cut the power', () => bench.fixture()?.powerCycle())],
      [0.005, () => this.tried('noise', () => bench.fixture()?.garbage(this.noise()))],
      [0.02, () => this.layAside(job)],
      [0.005, () => this.restart()],
      [0.01, () => this.tried('answer late', () => desk.answer(question.n - 1, { way: 0 }))],
      [0.005, () => this.tried('begin a check', () => desk.sessions.begin({ use: 'check', technician: '' }))],
      [0.03, () => this.putRight(screen, job)],
    ];
    let left = this.random.uniform();
    for (const [share, deed] of deeds) {
      if (left < share) return deed();
      left -= share;
    }
    return this.answer(question);
  }

  private answer({ n, asks, typing, choices }: QuestionPart): Promise<void> {
    const { random } = this;
    const { desk } = this.bay;
    const types = typing !== null && (choices.length === 0 || random.chance(0.3));
    if (types && typing.what === 'text')
      return this.tried(`answer: ${asks}`, () => desk.answer(n, { text: 'said at random' }));
    if (types && typing.what === 'number') {
      const { lower, upper } = typing;
      const usual = lower === null || upper === null ? 75 : (lower + upper) / 2;
      const number = random.chance(0.9) ? usual : this.one([NaN, -5, 1e9]);
      return this.tried(`answer: ${asks}`, () => desk.answer(n, { number }));
    }
    const usual = choices.findIndex(({ keys }) => keys.includes('return'));
    const any = Math.floor(random.uniform() * choices.length);
    const way = usual >= 0 && random.chance(0.9) ? usual : any;
    return this.tried(`answer: ${asks}`, () => desk.answer(n, { way }));
  }

  private putRight({ job: part, machine, bay }: BayScreen, job: number): Promise<void> {
    const reading = this.any(part?.readings ?? []);
    const which = { fixtureId: reading?.fixtureId ?? 'none', capture: reading?.number ?? 1 };
    const reason = 'at random';
    const correction = this.one<Correction>([
      { what: 'set aside', ...which, reason },
      { what: 'restored', ...which, reason },
      { what: 'tip corrected', ...which, spindle: machine?.spindles[0].name ?? '', headingDeg: 90, end: 'B' },
      { what: 'turn corrected', adjuster: machine?.adjusters[0].name ?? '', turns: 0.5 },
      { what: 'prepared', item: machine?.preparation[0]?.id ?? '', answer: 'yes' },
      { what: 'handed over', to: 'Karl Invented' },
      { what: 'fixture accounted for', fixtureId: bay.fixtures[0]?.fixtureId ?? '', by: 'somebody', reason },
      ...(this.random.chance(0.1) ? [{ what: 'given up', reason } as const] : []),
    ]);
    const event = correctionEvent(job, correction);
    return this.tried(`put right: ${correction.what}`, () => this.bay.desk.putRight(job, [event]));
  }

  private async layAside(job: number): Promise<void> {
    const { desk } = this.bay;
    await this.tried('lay aside', () => desk.leave());
    if (this.random.chance(0.8)) await this.tried('take up', () => desk.resume(job));
  }

  /** The server ends, and another begins with the same log; the open job is taken up, or left. */
  private async restart(): Promise<void> {
    this.note('restart');
    await this.bay.desk.close();
    this.isUnplugged = false;
    this.bay = openBay(this.log, this.seed);
    const open = this.any(this.bay.desk.screen().bay.openJobs);
    if (open !== undefined) await this.tried('take up', () => this.bay.desk.resume(open.job));
  }

  private async unplug(): Promise<void> {
    this.note('unplug');
    this.isUnplugged = true;
    this.bay.bench.fixture()?.unplug();
    await pause(this.random.uniform() * 50);
  }

  private plugIn(): void {
    this.note('plug in');
    this.isUnplugged = false;
    this.bay.bench.fixture()?.plugIn();
  }

  private noise(): number[] {
    return Array.from({ length: 60 }, () => Math.floor(this.random.uniform() * 256));
  }

  /** Does it. A refusal has a number; anything else that is thrown must not be. */
  private async tried(what: string, deed: () => unknown): Promise<void> {
    try {
      await deed();
      this.note(what);
    } catch (error) {
      if (!(error instanceof NumberedError) || error.number === TOOL_FAULT)
        this.broken.push(`${what}: ${textOf(error)}; ${this.lately.join(' | ')}`);
      else this.note(`${what}: E${error.number}`);
    }
  }

  private note(what: string): void {
    this.did[what] = (this.did[what] ?? 0) + 1;
    this.lately.push(what);
    if (this.lately.length > 30) this.lately.shift();
  }

  private any<T>(of: readonly T[]): T | undefined {
    return of[Math.floor(this.random.uniform() * of.length)];
  }

  private one<T>(of: readonly T[]): T {
    return this.any(of) as T;
  }
}

function openBay(log: string, seed: number) {
  const bench = simulatedDesk({ log, pace: PACE, seed });
  const ledger = openLedger(log, { writer: 'bay 1', now: () => new Date() });
  return { bench, desk: openDesk({ name: 'bay 1', ledger, bench }) };
}

function isOpen(question: QuestionPart | null | undefined): boolean {
  return question?.busy === null;
}

function textOf(error: unknown): string {
  return error instanceof Error ? (error.stack ?? error.message) : String(error);
}

function pause(ms: number): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, ms));
}
