/** What the simulated technician of the demo does when the job asks for something. */
import { liveState } from '../../protocol/solver';
import type { Question, ReadTask, SaidTo } from '../conduct/hands';
import { STRAIGHTEDGE_ITEM } from '../bay/straightedge';
import type { ItemAnswer } from '../ledger/events';
import type { Item } from '../machines/checklist';
import type { Shop } from '../simulation/shop';

export interface SimulatedWork {
  answer(question: Question, offers?: readonly string[]): SaidTo<Question>;
  /**
   * Turns an adjuster by the live height of a tip, act by act of the wrench; time passes between two acts. `liveMm`: what
   * the fixture shows then.
   */
  turnByLiveHeight(question: LiveTurn, liveMm: () => number): Generator<void>;
  /** Brings the fixture where the reading is to be taken; `clamped anew`: it sits crooked there and has to come off. */
  bring(task: ReadTask): 'clamped anew' | undefined;
}

/** A turn with a tip to be watched. */
export type LiveTurn = Extract<Question, { do: 'turn' }>;

export function isWatched(question: Question): question is LiveTurn {
  return question.do === 'turn' && question.live?.startMm !== undefined;
}

/** How the simulated technician decides where the job leaves it to him. */
export interface Ways {
  /** Turns by the live height. */
  readonly live?: boolean;
  /** A blade can be refitted half a turn round; where not, a good blade is put on. */
  readonly refits?: boolean;
  /** Parts at fault are replaced at once. */
  readonly replaces?: boolean;
}

export function simulatedWork(
  shop: Shop,
  { live = false, refits = true, replaces = true }: Ways = {},
): SimulatedWork {
  const { technician } = shop;
  const lookedAt = new Set<string>();
  const answers: { readonly [D in Question['do']]: AnswerTo<D> } = {
    'confirm cautions': () => 'done',
    'state claim': ({ field }, offers) => ({ text: offers?.[0] ?? INVENTED_CLAIM[field] ?? '' }),
    'carry over': () => 'the same',
    prepare: ({ item }) => (item.id === STRAIGHTEDGE_ITEM.id ? technician.layStraightedge() : inOrder(item)),
    'expired floor': () => 'put aside',
    'shim wheels': ({ twist }) => {
      const thinnest = twist.shims[0];
      if (thinnest === undefined) return 'none';
      technician.shimWheel(thinnest.wheel, thinnest.heightMm);
      return thinnest;
    },
    'seat deck': () => done(technician.seatDeck()),
    'feel hanger': ({ hanger }) => technician.feel(hanger),
    'take up': ({ hanger }) => done(technician.takeUpByFeel(hanger)),
    'read by ruler': ({ target }) => ({
      heightMm:
        target.kind === 'master'
          ? NaN
          : technician.readByRuler(target.spindle, target.end, target.headingDeg),
    }),
    'check reading': ({ reading }) => {
      // A tip that was read again and still stands out is as it is.
      const { placement: _, ...tip } = { placement: 0, ...reading.target };
      const key = JSON.stringify(tip);
      if (lookedAt.has(key)) return 'uphold';
      lookedAt.add(key);
      return { setAside: 'clamp or tip was wrong' };
    },
    turn: (task) => {
      if (task.canBeLive === true && live) return 'by the live height';
      if (task.live?.step.what === 'feel') technician.takeUpByFeel(task.adjuster.moves[0]?.hanger ?? '');
      else technician.turn(task.adjuster.name, task.turns);
      return 'done';
    },
    'check turning': () => ({ what: 'as said' }),
    'refit blade': ({ spindle }) => {
      if (!refits) return 'not now';
      technician.takeOff();
      technician.refitBladeHalfTurn(spindle);
      return 'half a turn round';
    },
    'swap blade': ({ spindle }) => {
      technician.takeOff();
      technician.replacePart(spindle, 'blade');
      return 'swapped';
    },
    'push and pull': () => done(technician.pushAndPull()),
    'decide part': ({ spindle, part }) => {
      if (!replaces) return 'not now';
      technician.takeOff();
      technician.replacePart(spindle, part);
      return 'replaced';
    },
    'offer levelling': () => 'level it now',
    tighten: () => done(technician.tighten()),
  };
  return {
    answer: (question, offers) => {
      const answer = answers[question.do] as (q: Question, offers?: readonly string[]) => unknown;
      return answer(question, offers) as SaidTo<Question>;
    },
    turnByLiveHeight: (question, liveMm) => turnByLiveHeight(shop, question, liveMm),
    bring: ({ target, reclamp }) => {
      if (target.kind === 'master') {
        technician.putOnMaster(target.edge);
        return undefined;
      }
      if (target.kind === 'watch' && target.when === 'end') {
        technician.pressDown();
        return undefined;
      }
      do {
        if (reclamp) technician.clampOn(target.spindle, target.end);
        technician.turnBladeTo(target.headingDeg);
      } while (reclamp && isTilted(shop));
      return target.kind === 'tip' && isTilted(shop) ? 'clamped anew' : undefined;
    },
  };
}

/** Beyond it the fixture says that it is tilted (protocol/SPEC.md). */
const TILTED_DEG = 15;

function isTilted(shop: Shop): boolean {
  const [x, y, z] = shop.settledScene().forceG;
  return z < Math.cos((TILTED_DEG * Math.PI) / 180) * Math.hypot(x, y, z);
}

type AnswerTo<D extends Question['do']> = (
  question: Extract<Question, { do: D }>,
  offers: readonly string[] | undefined,
) => SaidTo<Extract<Question, { do: D }>>;

/** Invented, as everything in the demo is. */
const INVENTED_CLAIM: Partial<Record<string, string>> = {
  complaint: 'cuts a step into the lawn on one side (invented)',
  'hour meter': '38.2',
  'delivered on': '2026-04-17',
};

function done(_milliseconds: number): 'done' {
  return 'done';
}

function inOrder({ number, choice, note }: Item): ItemAnswer {
  if (number !== undefined) return Math.round((number.lower + number.upper) / 2);
  if (choice !== undefined) return { chosen: choice.of.find((word) => !choice.notGood.includes(word)) ?? '' };
  return note === true ? { noted: 'nothing to note (invented)' } : 'yes';
}

const MOST_ACTS = 60;

/** Moves the wrench by what the bar says, a quarter turn at the most, until it stops twice after pressing down. */
function* turnByLiveHeight(
  { technician }: Shop,
  { adjuster, live }: LiveTurn,
  liveMm: () => number,
): Generator<void> {
  if (live?.step.what !== 'watch' || live.startMm === undefined) return;
  let made = 0;
  let stops = 0;
  for (let act = 0; act < MOST_ACTS && stops < 2; act += 1) {
    const { state, leftMm, leftTurns } = liveState(live.step, live.startMm, liveMm(), made);
    stops = state === 'stop' ? stops + 1 : 0;
    if (state === 'stop' || state === 'nothing moves') technician.pressDown();
    if (state !== 'stop') {
      technician.turn(adjuster.name, Math.max(-0.25, Math.min(0.25, leftTurns)));
      if (Math.abs(technician.lastTurns) < 1e-9) return;
      made += technician.lastTurns;
      if (Math.abs(leftMm) < 1) technician.pressDown();
    }
    yield;
  }
}
