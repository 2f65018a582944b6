import { expect, it } from 'vitest';
import { walk } from './walks';

it(
  '4,000 random steps: always a way on, no capture lost, no close with a fixture on a blade, equal replays',
  { timeout: 300_000 },
  () => {
    const figures = walk({ steps: 4000, seed: 12 });
    expect(figures.broken).toEqual([]);
    // A walk that never leaves the usual course proves nothing.
    expect(figures.jobs).toBeGreaterThan(15);
    expect(figures.outOfTurn).toBeGreaterThan(200);
    expect(figures.refused).toBeGreaterThan(50);
    const tasks = [
      'offer levelling',
      'check reading',
      'turn',
      'state claim',
      'carry over',
      'refit blade',
      'read by ruler',
    ];
    for (const task of tasks) expect(figures.tasksSeen).toContain(task);
    for (const event of [
      'given up',
      'job reopened',
      'restored',
      'tip corrected',
      'fixture accounted for',
      'clamped anew',
    ])
      expect(figures.eventsSeen).toContain(event);
  },
);
