/** What the simulated technician of the demo does when the job asks for something. */
import type { AnswerTo, Question, ReadTask } from '../conduct/hands';
import type { Shop } from '../simulation/shop';

export interface SimulatedWork {
  answer(question: Question): AnswerTo<Question>;
  /** Brings the fixture where the reading is to be taken. */
  bring(task: ReadTask): void;
}

export function simulatedWork(shop: Shop): SimulatedWork {
  const { technician } = shop;
  const lookedAt = new Set<string>();
  return {
    answer: (question) => {
      switch (question.do) {
        case 'prepare': {
          const range = question.item.number;
          return range === undefined ? 'yes' : Math.round((range.lower + range.upper) / 2);
        }
        case 'expired floor':
          return 'put aside';
        case 'shim wheels': {
          const thinnest = question.twist.shims[0];
          if (thinnest === undefined) return 'none';
          technician.shimWheel(thinnest.wheel, thinnest.heightMm);
          return thinnest;
        }
        case 'feel hanger':
          return technician.feel(question.hanger);
        case 'take up':
          technician.takeUpByFeel(question.hanger);
          return 'done';
        case 'check reading': {
          // A tip that was read again and still stands out is as it is.
          const { placement: _, ...tip } = { placement: 0, ...question.reading.target };
          const key = JSON.stringify(tip);
          if (lookedAt.has(key)) return 'uphold';
          lookedAt.add(key);
          return { setAside: 'clamp or tip was wrong' };
        }
        case 'seat deck':
          technician.seatDeck();
          return 'done';
        case 'turn':
          technician.turn(question.adjuster.name, question.turns);
          return 'done';
        case 'check turning':
          return { what: 'as said' };
        case 'refit blade':
          technician.takeOff();
          technician.refitBladeHalfTurn(question.spindle);
          return 'half a turn round';
        case 'tighten':
          technician.tighten();
          return 'done';
        case 'confirm cautions':
          return 'done';
      }
    },
    bring: ({ target, reclamp }) => {
      if (target.kind === 'master') {
        technician.putOnMaster(target.edge);
        return;
      }
      if (reclamp) technician.clampOn(target.spindle, target.end);
      technician.turnBladeTo(target.headingDeg);
    },
  };
}
