import { expect, it } from 'vitest';
import { killCampaign, losses } from './kills';

// 200 of them: `npm run prove -- kills`.
it(
  'kill -9 in the middle of readings, five times: no capture lost, none doubled, chain intact',
  { timeout: 300_000 },
  async () => {
    const result = await killCampaign({ kills: 5, seed: 3 });
    expect(losses(result)).toEqual([]);
    // It would be seen.
    expect(losses({ ...result, logged: result.logged.slice(1) }).join()).toContain('are lost');
    expect(losses({ ...result, logged: [...result.logged, 1] }).join()).toContain('stand twice');
    expect(result.taken).toBeGreaterThan(5);
    expect(result.logged).toHaveLength(result.taken - result.held.length);
  },
);
