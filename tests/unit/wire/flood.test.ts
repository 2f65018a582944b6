import { expect, test } from 'vitest';
import { flood } from './flood';

test('a million random bytes: no frame that was not sent, and the frame after the next delimiter is read', () => {
  const result = flood(20261125, 1_000_000, 0);
  expect(result).toEqual({ sent: 1, accepted: 1, invented: 0, noise: result.noise, damaged: result.noise });
  // 255 of 256 byte values are not the delimiter.
  expect(result.noise / 1_000_000).toBeCloseTo(255 / 256, 3);
});

test('random bytes with good frames among them: all of these come out and nothing else', () => {
  const result = flood(4711, 300_000, 60);
  expect(result).toEqual({ ...result, accepted: result.sent, invented: 0, damaged: result.noise });
  expect(result.sent).toBeGreaterThan(500);
});
