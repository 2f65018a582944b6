import { defineConfig } from 'vitest/config';

export default defineConfig({ test: { include: ['tests/canary/canary.test.ts'], reporters: ['json'] } });
