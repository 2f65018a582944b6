/** Modelled measuring time of inspections, reduced. Full size: npm run prove -- sequences. */
import { expect, it } from 'vitest';
import { inspections } from './sequences';

it('100 good three-spindle machines as they come: the median measuring time is at most three minutes', () => {
  const { seconds, passed, jobs } = inspections(100, 1);
  const median = seconds[Math.floor(seconds.length / 2)];
  console.log(`${passed} of ${jobs} passed as they came, median ${median} s, longest ${seconds.at(-1)} s`);
  expect(median).toBeLessThanOrEqual(180);
  // Unsurveyed floors: 82 of these 100 pass (873 of 1,000 while they were taken to be alike over 1.5 m: decision 0008).
  expect(passed / jobs).toBeGreaterThanOrEqual(0.75);
});
