import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { expect, it } from 'vitest';

it('the harness fails when a test fails: every canary is reported', () => {
  const root = join(import.meta.dirname, '../..');
  const vitest = join(root, 'node_modules/vitest/vitest.mjs');
  const run = spawnSync(process.execPath, [vitest, 'run', '--config', 'tests/canary/vitest.config.ts'], {
    cwd: root,
    encoding: 'utf8',
    env: { ...process.env, NO_COLOR: '1' },
  });
  expect(run.status).toBe(1);
  const report = JSON.parse(run.stdout.slice(run.stdout.indexOf('{'))) as {
    numTotalTests: number;
    numFailedTests: number;
  };
  expect(report.numTotalTests).toBe(3);
  expect(report.numFailedTests).toBe(3);
});
