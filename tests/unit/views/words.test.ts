import { expect, it } from 'vitest';
import { headingText, limitedText, turnText, turnsText } from '../../../host/views/words';

const nut = {
  name: 'rear left',
  moves: [{ hanger: 'rear left', mmPerTurn: 1.5 }],
  ratioUncertainty: 0.03,
  raises: { rotation: 'clockwise', seenFrom: 'below' },
  travelTurns: [-8, 8] as [number, number],
  stepTurns: 1 / 6,
} as const;

it('says lower or raise first, then turns and flats, then which way and seen from where', () => {
  // One flat of a hexagon is a sixth of a turn; M10 coarse rises 1.5 mm a turn (ISO 261): 3.75 mm = 2 1/2 turns.
  expect(turnText({ ...nut, moves: [...nut.moves] }, 2.5, 3.75)).toBe(
    'rear left: raise 3.8 mm = 2 turns and 3 flats, clockwise seen from below',
  );
  expect(turnText({ ...nut, moves: [...nut.moves] }, -1 / 3, -0.5)).toBe(
    'rear left: lower 0.5 mm = 2 flats, counter-clockwise seen from below',
  );
  expect(turnsText(0.98, 1 / 6)).toBe('1 turn');
  expect(turnsText(0.98, 0.5)).toBe('1 turn');
  expect(turnsText(2.75, 0.25)).toBe('2 turns and 3/4');
  expect(turnsText(0.9, 0.3)).toBe('3 notches of 0.30 turns');
});

it('names eight directions as seated, left at 90 degrees (ISO 8855: y to the left)', () => {
  expect([0, 90, 180, -90, 45].map(headingText)).toEqual([
    'forward',
    'left',
    'rearward',
    'right',
    'forward left',
  ]);
});

it('never rounds a value across its limit', () => {
  expect(limitedText(3.04, -3, 3)).toBe('3.04');
  expect(limitedText(2.96, -3, 3)).toBe('3.0');
  expect(limitedText(-3.0004, -3, 3)).toBe('-3.0004');
});
