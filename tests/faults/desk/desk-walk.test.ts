import { expect, it } from 'vitest';
import { walkAtDesk } from './desk-walk';

it(
  'half a minute of doing anything at a screen: never stuck, every refusal numbered, no capture twice',
  { timeout: 300_000 },
  async () => {
    const walk = await walkAtDesk({ minutes: 0.5, seed: 5 });
    expect(walk.broken).toEqual([]);
    expect(walk.captures).toBeGreaterThan(10);
  },
);
