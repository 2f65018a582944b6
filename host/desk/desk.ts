/**
 * The desk of one bay: it holds the log, works one job at a time, and keeps every screen of the bay in step. All that it
 * shows comes from the log and the job in hand, so that a screen or the whole desk may go and come back.
 */
import { conductJob } from '../conduct/conduct';
import type { Screen } from '../conduct/hands';
import { putRight } from '../conduct/put-right';
import { stateInLog } from '../conduct/state-in-log';
import { numberedError } from '../errors/errors';
import type { JobEvent } from '../ledger/events';
import type { Ledger } from '../ledger/ledger';
import type { Program } from '../ledger/program';
import { fixturesOnBlade } from '../procedure/fixtures';
import type { JobState } from '../procedure/state';
import type { Task } from '../procedure/task';
import {
  jobPart,
  openJobPart,
  stagesOf,
  type BayScreen,
  type LivePart,
  type QuestionPart,
} from '../views/bay-screen';
import { jobPictures } from '../views/job-pictures';
import type { Body } from '../../protocol/wire/messages';
import { liveReading, liveView, recentHeights } from '../views/live-view';
import { resultPart } from '../views/result-part';
import type { StageView } from '../views/stage-view';
import type { Said } from '../views/ways';
import { createAsking } from './asking';
import type { Bench } from './bench';
import { openOrder, type JobOrder, type ShopSettings } from './order';
import { personAt } from './person';
import { sessionsAt, type Sessions } from './sessions';
import { beginWork, type BeginWork, type UnlessLeft, type Work } from './work';

export interface Desk {
  readonly ledger: Ledger;
  readonly bench: Bench;
  /** All that a screen shows. */
  screen(): BayScreen;
  /** Tells of every change and every live height until the returned function is called. */
  watch(watcher: Watcher): () => void;
  /** Opens a job and works it. Gives its number. Throws 511 while anything else is in hand, and what the order is refused for. */
  open(order: JobOrder): number;
  /** Opens the next job of a batch: as the one before it, but for the serial number. Throws 509 and 511. */
  next(serialNumber: string): number;
  /** Goes on with an open job. Throws 256 and 511. */
  resume(job: number): void;
  /** What the job could not go on for is tried again. */
  goOn(): void;
  /** Lays the job in hand aside; it stays open in the log. */
  leave(): Promise<void>;
  /** Answers the question of this number. Throws 509 and 510. */
  answer(n: number, said: Said): void;
  /** Puts a job's record right, the one in hand or another. Throws 256 and what the procedure refuses. */
  putRight(job: number, events: readonly JobEvent[]): Promise<void>;
  /** Checks and studies, never beside a job. */
  readonly sessions: Sessions;
  /** Lays the job in hand aside and closes the log. */
  close(): Promise<void>;
}

export interface Watcher {
  changed(): void;
  live(live: LivePart): void;
}

export interface DeskOptions {
  readonly name: string;
  readonly ledger: Ledger;
  readonly bench: Bench;
  /** What decides, to be kept with each record (`ConductOptions`). */
  readonly solver?: Program;
  readonly shop?: ShopSettings;
}

const MOST_NOTICES = 5;

export function openDesk({ name, ledger, bench, solver, shop = {} }: DeskOptions): Desk {
  const watchers = new Set<Watcher>();
  const asking = createAsking(0, () => changed());
  let run: Run | undefined;
  let newest: Work | undefined;
  let notices: { readonly text: string; readonly at: number }[] = [];
  let open = openJobs(ledger);

  const changed = () => watchers.forEach((w) => w.changed());
  const notice = (text: string) => {
    notices = [...notices, { text, at: asking.asked() }].slice(-MOST_NOTICES);
    changed();
  };

  /** There is one fixture, so there is one piece of work. Throws 511. */
  const refuseWhileBusy = () => {
    if (run !== undefined && run.state.closed === undefined)
      throw numberedError('bay busy', `job ${run.state.job}`);
    const session = sessionInHand();
    if (session !== undefined) throw numberedError('bay busy', session.title);
  };
  const sessionInHand = () => {
    const session = sessions.part();
    return session?.done === null ? session : undefined;
  };

  const begin: BeginWork = (attempt, ended) => {
    refuseWhileBusy();
    newest = beginWork({ attempt, after: newest?.leave(), asking, changed, ended });
    return newest;
  };

  const sessions = sessionsAt({
    ledger,
    bench,
    asking,
    begin,
    notice,
    changed,
    live: (live, fixtureId) => {
      const { uptimeMs } = live;
      const part: LivePart = { ...liveReading(live), fixtureId, uptimeMs, bar: null };
      watchers.forEach((w) => w.live(part));
    },
  });

  const start = (job: number, order: JobOrder | undefined) => {
    const mine: Run = {
      state: stateInLog(ledger, job),
      order,
      advice: undefined,
      task: undefined,
      heard: new Map(),
      recent: [],
      stages: undefined,
      work: begin(
        (unlessLeft) => conduct(mine, unlessLeft),
        () => {
          open = openJobs(ledger);
          changed();
        },
      ),
    };
    run = mine;
    notices = [];
    changed();
  };

  const conduct = async (mine: Run, unlessLeft: UnlessLeft): Promise<void> => {
    mine.heard.clear();
    const person = personAt(asking, notice);
    const events = ledger.events(mine.state.job).map((e) => e.event);
    const at = await bench.takeUp({ state: mine.state, events }, person, notice);
    mine.state = await conductJob({
      ledger,
      job: mine.state.job,
      openLinks: at.openLinks,
      ...(solver === undefined ? {} : { solver }),
      hands: {
        ...at.hands,
        answer: (question, offers) => unlessLeft(at.hands.answer(question, offers)),
        read: (task, fixture, over) => unlessLeft(at.hands.read(task, fixture, over)),
      },
      screen: screenOf(mine),
    });
  };

  const screenOf = (mine: Run): Screen => ({
    task: (task) => {
      mine.task = task;
      if (task.do === 'close') mine.advice = task.advice;
    },
    job: (state) => {
      mine.state = state;
      mine.task ??= { do: 'join fixture' };
      changed();
    },
    live: (live) => {
      mine.recent = recentHeights(mine.recent, live);
      const bar = liveView(mine.task, mine.recent);
      const part: LivePart = {
        ...liveReading(live),
        fixtureId: wantedFixture(mine),
        uptimeMs: live.uptimeMs,
        bar: bar ?? null,
      };
      watchers.forEach((w) => w.live(part));
    },
    heard: (fixtureId, isHeard) => {
      mine.heard.set(fixtureId, isHeard);
      changed();
    },
    captured: () => {},
    assessed: () => {},
    notice,
  });

  const screen = (): BayScreen => {
    const state = run?.state;
    const others = open.filter((o) => o.job !== state?.job);
    return {
      bay: {
        name,
        simulated: bench.simulated,
        fixtures: (state?.fixtures ?? []).map(({ identity: { fixtureId } }) => ({
          fixtureId,
          isHere: run !== undefined && isHere(run, fixtureId),
        })),
        notices: notices.filter(({ at }) => at >= asking.asked() - 1).map(({ text }) => text),
        trouble: run?.work.trouble() ?? null,
        doNotStart:
          others.some((o) => o.onBlade) ||
          (run !== undefined && fixturesOnBlade(run.state).some((id) => !isHere(run as Run, id))),
        openJobs: others,
      },
      job:
        run === undefined
          ? null
          : jobPart(run.state, run.task ?? { do: 'join fixture' }, questionNow(run, asking.current()), {
              isBatch: run.order?.batch === true,
              advice: run.advice,
            }),
      session: sessions.part(),
      machine: state?.profile ?? null,
      results: run === undefined ? [] : stagesNow(run).map((view) => resultPart(view)),
      pictures: run?.task === undefined ? null : jobPictures(run.state, run.task, stagesNow(run)),
    };
  };

  const leave = async () => {
    const left = run;
    await left?.work.leave();
    if (run === left) run = undefined;
    changed();
  };

  const openNew = (order: JobOrder): number => {
    // Before anything is written: an order that cannot be begun leaves no open job behind.
    refuseWhileBusy();
    const job = openOrder(ledger, order, { bay: name, simulated: bench.simulated, shop, before: run?.state });
    start(job, order);
    return job;
  };

  /** Of two screens that put something right at the same moment one waits for the other. */
  let correcting = Promise.resolve();
  const putRightAlone = async (job: number, events: readonly JobEvent[]): Promise<void> => {
    if (run?.state.job !== job || run.state.closed !== undefined) {
      const { closed } = putRight(ledger, job, events);
      open = openJobs(ledger);
      // Opened again where it was closed, it is in hand again.
      if (run?.state.job === job && closed === undefined && sessionInHand() === undefined)
        start(job, run.order);
      return changed();
    }
    const { order } = run;
    await leave();
    try {
      putRight(ledger, job, events);
    } finally {
      start(job, order);
    }
  };

  return {
    ledger,
    bench,
    sessions,
    screen,
    watch: (watcher) => {
      watchers.add(watcher);
      return () => watchers.delete(watcher);
    },
    open: openNew,
    next: (serialNumber) => {
      if (run?.order === undefined) throw numberedError('request not understood', 'no batch is in hand');
      return openNew({ ...run.order, serialNumber });
    },
    resume: (job) => start(job, undefined),
    goOn: () => run?.work.goOn(),
    leave,
    answer: (n, said) => asking.answer(n, said),
    putRight: (job, events) => {
      const done = correcting.then(() => putRightAlone(job, events));
      correcting = done.catch(() => {});
      return done;
    },
    close: async () => {
      await leave();
      await sessions.leave();
      await bench.close();
      ledger.close();
    },
  };

  /** Computed anew when another set of readings was judged. */
  function stagesNow(mine: Run): readonly StageView[] {
    const { settings } = mine.state;
    const key = JSON.stringify(settings.map((s) => [s.assessed, s.turned, s.turningChecked]));
    if (mine.stages?.key !== key) mine.stages = { key, views: stagesOf(mine.state) };
    return mine.stages.views;
  }
}

/** One job being worked. */
interface Run {
  state: JobState;
  /** Left out for a job that is gone on with. */
  readonly order: JobOrder | undefined;
  /** What would settle the result that the job was closed with. */
  advice: string | undefined;
  task: Task | undefined;
  /** What the links have said of each fixture since the job was taken up; the log says the rest. */
  heard: Map<string, boolean>;
  /** Heights that the one of a turn is the mean of. */
  recent: readonly Body<'live'>[];
  stages: { readonly key: string; readonly views: readonly StageView[] } | undefined;
  readonly work: Work;
}

function isHere({ state, heard, work }: Run, fixtureId: string): boolean {
  return work.trouble() === undefined && (heard.get(fixtureId) ?? !state.lost.includes(fixtureId));
}

function wantedFixture({ state, task }: Run): string {
  const named = task?.do === 'read' ? task.fixtureId : undefined;
  return named ?? state.fixtures[0]?.identity.fixtureId ?? '';
}

/** What is asked. Nothing is captured while the fixture that is to read is not to be heard. */
function questionNow(run: Run, asked: QuestionPart | undefined): QuestionPart | null {
  if (asked === undefined) return null;
  const fixtureId = wantedFixture(run);
  return asked.busy !== null || run.task?.do !== 'read' || isHere(run, fixtureId)
    ? asked
    : { ...asked, busy: `waiting for fixture ${fixtureId}` };
}

function openJobs(ledger: Ledger) {
  return ledger.openJobs().map(({ job }) => openJobPart(stateInLog(ledger, job)));
}
