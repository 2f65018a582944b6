import { defineConfig } from 'vitest/config';
import { ClosingLine } from './tests/closing-line.ts';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.{ts,tsx}'],
    exclude: ['tests/canary/**'],
    globalSetup: 'tests/build.ts',
    // A busy machine may be ten times slower than a quiet one.
    testTimeout: 180_000,
    hookTimeout: 180_000,
    expect: { poll: { timeout: 30_000 } },
    maxWorkers: 2,
    reporters: ['default', new ClosingLine()],
  },
});
