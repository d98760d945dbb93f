// Test runner settings. Threads without isolation: the fastest here (docs/decisions) and no test keeps module state.
import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['src/**/*.test.ts', 'scripts/**/*.test.ts'],
    pool: 'threads',
    // The usual number, one fewer, leaves one of two processors idle.
    maxWorkers: availableParallelism(),
    isolate: false,
    testTimeout: 120_000,
    hookTimeout: 300_000,
  },
});
