import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    projects: [
      {
        test: {
          name: 'modules',
          include: ['src/**/*.test.ts', 'test/**/*.test.ts', 'bench/**/*.test.ts', 'demo/**/*.test.ts'],
          exclude: ['test/e2e/**'],
          testTimeout: 60_000,
          sequence: { groupOrder: 0 },
        },
      },
      {
        // In a real browser on the built page: one at a time, and after the others, since a page that has to share its
        // processor with them all is slower than any person's.
        test: {
          name: 'page',
          include: ['test/e2e/**/*.test.ts'],
          testTimeout: 180_000,
          hookTimeout: 60_000,
          fileParallelism: false,
          sequence: { groupOrder: 1 },
        },
      },
    ],
  },
});
