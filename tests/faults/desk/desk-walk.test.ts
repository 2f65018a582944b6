import { expect, it } from 'vitest';
import { walkAtDesk } from './desk-walk';

it(
  '300 deeds of somebody who does anything at a screen: never stuck, every refusal numbered, no capture twice',
  { timeout: 600_000 },
  async () => {
    const walk = await walkAtDesk({ deeds: 300, seed: 5 });
    expect(walk.broken).toEqual([]);
    expect(walk.captures).toBeGreaterThan(10);
  },
);
