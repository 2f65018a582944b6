import { defineConfig } from 'vitest/config';
import { ClosingLine } from './tests/closing-line.ts';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.{ts,tsx}'],
    exclude: ['tests/canary/**'],
    globalSetup: 'tests/build.ts',
    testTimeout: 60_000,
    maxWorkers: 2,
    reporters: ['default', new ClosingLine()],
  },
});
