/** What only shows with the real firmware behind the stream: heights that move while somebody works at the machine. */
import { afterEach, expect, it } from 'vitest';
import { openLedgerForReading } from '../../../host/ledger/ledger';
import { openTrial, type Trial } from './bay';

let trial: Trial;
afterEach(() => trial.close());

function events() {
  const ledger = openLedgerForReading(trial.path);
  const all = ledger.events(trial.job).map((e) => e.event);
  ledger.close();
  return all;
}

it(
  'a round turned by the live height brings the deck inside, whatever the ratios are',
  { timeout: 120_000 },
  async () => {
    trial = await openTrial(5, { ways: { live: true }, population: { hangerErrorSdMm: 5, ratioSd: 0.25 } });
    const state = await trial.work();
    const turned = events().filter((e) => e.type === 'turned');
    expect(turned.length).toBeGreaterThan(0);
    expect(turned.every((e) => e.live === true)).toBe(true);
    // The first round alone: the truth of the simulated shop after it is what every later reading is compared with.
    expect(state.settings.filter((s) => s.turned.length > 0)).toHaveLength(1);
    for (const m of state.profile.measures.filter((m) => m.what === 'tips')) {
      expect(trial.bay.shop.trueMeasureMm(m.name)).toBeGreaterThan(m.lowerMm);
      expect(trial.bay.shop.trueMeasureMm(m.name)).toBeLessThan(m.upperMm);
    }
    // What the bar showed at the start and at the end of each turn is on the record.
    const watched = state.readings.filter((r) => r.target.kind === 'watch');
    expect(watched.filter((r) => r.target.kind === 'watch' && r.target.when === 'start').length).toBe(
      watched.filter((r) => r.target.kind === 'watch' && r.target.when === 'end').length,
    );
  },
);

it('push and pull reads the play of the tip from the live heights', { timeout: 120_000 }, async () => {
  trial = await openTrial(9, {
    use: 'diagnosis',
    machine: 'orrinshaw-106',
    population: { hangerErrorSdMm: 0.3, playMm: 1.2 },
    faults: [{ kind: 'high spindle', spindle: 'left', heightMm: 9 }],
  });
  await trial.work();
  const tried = events().find((e) => e.type === 'pushed and pulled');
  const play = (tried?.highMm ?? NaN) - (tried?.lowMm ?? NaN);
  // 1.2 mm and the tremor of a hand.
  expect(play).toBeGreaterThan(1.0);
  expect(play).toBeLessThan(1.7);
});

it(
  'a fixture that is knocked crooked is clamped anew, and its next reading is of another clamping',
  { timeout: 120_000 },
  async () => {
    const population = { hangerErrorSdMm: 0.3, knockProbability: 0.4, fixtureTiltSdDeg: 9 };
    trial = await openTrial(4, { use: 'diagnosis', machine: 'orrinshaw-106', population });
    const state = await trial.work();
    expect(state.closed).toBeDefined();
    const all = events();
    const anew = all.filter((e) => e.type === 'clamped anew');
    expect(anew.length).toBeGreaterThan(0);
    for (const { step } of anew) {
      const crooked = state.steps[step]?.target;
      const next = state.steps[step + 1]?.target;
      if (crooked?.kind !== 'tip' || next?.kind !== 'tip') throw new Error('not a tip');
      expect(state.readings.some((r) => r.step === step)).toBe(false);
      expect(next).toEqual({ ...crooked, placement: crooked.placement + 1 });
    }
    // The fixture refuses what is tilted (E104 after 30 s); nobody had to wait for that.
    expect(trial.notices.filter((text) => text.includes('E104'))).toEqual([]);
  },
);
