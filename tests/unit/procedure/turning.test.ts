/** Turning as the job asks for it: whole steps, a question after a round that contradicts itself, trial turns, learning. */
import { describe, expect, it } from 'vitest';
import { loadProfile } from '../../../host/machines/load';
import { refusal } from '../../../host/procedure/admit';
import { learnedGains } from '../../../host/procedure/learning';
import { replay } from '../../../host/procedure/state';
import { simulatedWork, type SimulatedWork } from '../../../host/cli/simulated-work';
import type { Shop } from '../../../host/simulation/shop';
import { directJob } from '../../campaign/direct-job';

const profile = loadProfile('pimwick-76');

/** A technician who turns the first adjuster that is asked for the wrong way, once. */
function clumsy(shop: Shop): SimulatedWork {
  const work = simulatedWork(shop);
  let wrong = false;
  return {
    ...work,
    answer: (question) => {
      if (question.do === 'turn' && !wrong && Math.abs(question.turns) >= 1) {
        wrong = true;
        shop.technician.turn(question.adjuster.name, -question.turns);
        return 'done';
      }
      if (question.do === 'check turning') return question.findings[0] ?? { what: 'as said' };
      return work.answer(question);
    },
  };
}

describe('a nut that was turned the wrong way', () => {
  const { events, shop } = directJob(4, profile, { hangerErrorSdMm: 6, hands: clumsy });
  const checked = events.filter((e) => e.type === 'turning checked');

  it('is noticed after the round, before anything else is turned, and named', () => {
    expect(checked).toHaveLength(1);
    const first = events.find((e) => e.type === 'turned' && Math.abs(e.turns) >= 1);
    expect(checked[0]?.type === 'turning checked' && checked[0].found).toEqual({
      what: 'wrong way',
      adjuster: first?.type === 'turned' ? first.adjuster : '',
    });
    const rounds = events.slice(events.indexOf(checked[0] as never)).filter((e) => e.type === 'turned');
    expect(rounds.length).toBeGreaterThan(0);
  });

  it('and the next round puts it right', () => {
    for (const m of profile.measures.filter((m) => m.what === 'tips')) {
      expect(shop.trueMeasureMm(m.name)).toBeGreaterThan(m.lowerMm);
      expect(shop.trueMeasureMm(m.name)).toBeLessThan(m.upperMm);
    }
  });

  it('is answered only when it is asked', () => {
    const state = replay(events.slice(0, 5));
    expect(refusal(state, { type: 'turning checked', job: 1, found: { what: 'as said' } })?.number).toBe(406);
  });
});

describe('an adjuster whose ratio nobody knows', () => {
  const unknown = { ...profile, adjusters: profile.adjusters.map((a) => ({ ...a, ratioUncertainty: 0.9 })) };
  const machine = {
    ...profile,
    adjusters: profile.adjusters.map((a, j) => ({
      ...a,
      moves: a.moves.map((m) => ({ ...m, mmPerTurn: m.mmPerTurn * ([0.6, 1.4, 1.3][j] ?? 1) })),
    })),
  };
  const job = directJob(4, unknown, { machine, hangerErrorSdMm: 6, ratioSd: 0 });

  it('gets one trial turn, then the turns that its ratio asks for', () => {
    const turned = job.events.flatMap((e) => (e.type === 'turned' ? [e.turns] : []));
    expect(turned.slice(0, 3)).toEqual([1, 1, 1]);
    expect(turned.length).toBeGreaterThan(3);
    for (const m of profile.measures.filter((m) => m.what === 'tips')) {
      expect(job.shop.trueMeasureMm(m.name)).toBeGreaterThan(m.lowerMm);
      expect(job.shop.trueMeasureMm(m.name)).toBeLessThan(m.upperMm);
    }
  });

  it('and the same machine is known when it comes again; another model is not', () => {
    const again = { profile: unknown, serialNumber: '', simulated: true };
    const learned = learnedGains([job.events], again);
    learned?.adjusters.forEach(({ factor, standardUncertainty }, j) => {
      expect(Math.abs(factor - ([0.6, 1.4, 1.3][j] ?? 1))).toBeLessThan(3 * standardUncertainty);
      expect(standardUncertainty).toBeLessThan(0.2);
    });
    expect(learned?.jobs).toBe(1);
    expect(learnedGains([job.events], { ...again, simulated: false })).toBeUndefined();
    expect(learnedGains([job.events], { ...again, profile: loadProfile('orrinshaw-106') })).toBeUndefined();
  });
});
