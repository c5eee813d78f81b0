import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    testTimeout: 240_000,
    hookTimeout: 240_000,
    pool: 'forks',
    maxWorkers: 2,
    reporters:
      process.env['CI'] === 'true' ? ['default', ['json', { outputFile: '.vitest/results.json' }]] : ['default'],
  },
});
