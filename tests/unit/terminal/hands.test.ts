/** A technician at the keyboard: one key, or the fixture's button, for everything that is asked. */
import { expect, it } from 'vitest';
import type { FixtureInHand, Question, ReadTask } from '../../../host/conduct/hands';
import { loadProfile } from '../../../host/machines/load';
import { LeftByTechnician, terminalHands, type Keys } from '../../../host/terminal/hands';

const adjuster = loadProfile('orrinshaw-106').adjusters[0];
if (adjuster === undefined) throw new Error('no adjuster');

const KINDS: readonly Question[] = [
  { do: 'confirm cautions', cautions: [] },
  { do: 'carry over', fromSerial: '1', items: [] },
  { do: 'prepare', item: { id: 'a', text: 'A' } },
  { do: 'seat deck', seating: 1, why: '', family: 'mid-mount hung' },
  { do: 'feel hanger', hanger: 'rear left', kind: 'hangs' },
  { do: 'take up', hanger: 'rear left', adjuster: 'rear left', kind: 'hangs' },
  { do: 'turn', adjuster, turns: 1, raiseMm: 1, left: 1, canBeLive: true },
  { do: 'check turning', findings: [] },
  { do: 'refit blade', spindle: 'left' },
  { do: 'swap blade', spindle: 'left' },
  { do: 'push and pull', spindle: 'left', startMm: 70 },
  { do: 'decide part', spindle: 'left', part: 'blade', sizeMm: 5 },
  { do: 'offer levelling', decision: 'fail' },
  { do: 'tighten' },
];

/** Nobody touches the keyboard. */
const untouched: Keys = {
  next: (signal) =>
    new Promise((_, reject) => signal?.addEventListener('abort', () => reject(new Error('over')))),
  line: () => Promise.resolve(''),
};

it.each(KINDS)('the button of the fixture answers: $do', async (question) => {
  const hands = terminalHands(untouched, () => {});
  const answered = hands.answer(question);
  await Promise.resolve();
  hands.pressed?.();
  expect(await answered).toBeDefined();
});

it.each(KINDS)('escape leaves the job open: $do', async (question) => {
  const hands = terminalHands({ ...untouched, next: () => Promise.resolve('escape') }, () => {});
  await expect(hands.answer(question)).rejects.toThrow(LeftByTechnician);
});

it('an item with a number takes a number, with a comma too, and says when it is none', async () => {
  const said: string[] = [];
  const lines = ['9x', '92,5'];
  const keys: Keys = { next: () => Promise.resolve('9'), line: () => Promise.resolve(lines.shift()) };
  const hands = terminalHands(keys, (text) => said.push(text));
  const number = { unit: 'kPa', lower: 90, upper: 110 };
  expect(await hands.answer({ do: 'prepare', item: { id: 'a', text: 'A', number } })).toBe(92.5);
  expect(said.join()).toContain('that is no number');
});

it('a claim takes an offer by its number, or what is typed', async () => {
  const keysOf = (key: string): Keys => ({
    next: () => Promise.resolve(key),
    line: () => Promise.resolve(' my own '),
  });
  const ask = (key: string) =>
    terminalHands(keysOf(key), () => {}).answer({ do: 'state claim', field: 'cause' }, ['first', 'second']);
  expect(await ask('2')).toEqual({ text: 'second' });
  expect(await ask('return')).toEqual({ text: 'first' });
  expect(await ask('t')).toEqual({ text: 'my own' });
  expect(await ask('x')).toEqual({ text: '' });
});

it('a clamp that came off after its last reading is clamped anew; a fresh clamp is only set straight', async () => {
  const tip = { kind: 'tip', spindle: 'left', headingDeg: 0, end: 'A', seating: 1, placement: 1 } as const;
  const reading = (reclamp: boolean): ReadTask => ({ do: 'read', target: tip, reclamp, done: 0, of: 2 });
  const pressed: string[] = [];
  const fixture: FixtureInHand = {
    arm: () => Promise.resolve(),
    capture: () => Promise.resolve(void pressed.push('capture')),
  };
  const read = (reclamp: boolean) => {
    const typed = ['c', 'space'];
    const over = new AbortController();
    const keys: Keys = {
      next: () => {
        const key = typed.shift();
        if (key === undefined) over.abort();
        return key === undefined ? Promise.reject(new Error('over')) : Promise.resolve(key);
      },
      line: () => Promise.resolve(''),
    };
    return terminalHands(keys, () => {}).read(reading(reclamp), fixture, over.signal);
  };
  expect(await read(true)).toBeUndefined();
  expect(pressed).toEqual(['capture']);
  expect(await read(false)).toBe('clamped anew');
  expect(pressed).toEqual(['capture']);
});
