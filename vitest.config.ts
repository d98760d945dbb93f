// Test runner settings. Threads without isolation: the fastest here (docs/decisions) and no test keeps module state.
import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['src/**/*.test.ts', 'scripts/**/*.test.ts'],
    pool: 'threads',
    // One fewer would be none beside the first on two processors.
    maxWorkers: availableParallelism(),
    isolate: false,
    testTimeout: 120_000,
    hookTimeout: 300_000,
  },
});
