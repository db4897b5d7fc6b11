import { configDefaults, defineConfig } from 'vitest/config'

/** Without processes, sockets of their own or a browser: one process takes many files, which saves loading the sources for each. */
const PURE = ['core', 'quantity', 'schema', 'scpi', 'web', 'instrument', 'transport', 'record', 'interleavings'].map(
  (room) => `tests/${room}/**/*.test.ts`,
)
/** Browsers, paced jobs and real processes: one at a time, so that a minute at ten times life is not lost to a neighbour. */
const ALONE = [
  'tests/browser/**/*.test.ts',
  'tests/paced/**/*.test.ts',
  'tests/keeper/processes.test.ts',
  'tests/keeper/pairs.test.ts',
]

const together = { maxWorkers: 2, sequence: { groupOrder: 0 } }

export default defineConfig({
  test: {
    testTimeout: 20_000,
    hookTimeout: 30_000,
    pool: 'forks',
    reporters: ['default'],
    projects: [
      { extends: true, test: { name: 'pure', include: PURE, isolate: false, ...together } },
      {
        extends: true,
        test: {
          name: 'rooms',
          include: ['tests/**/*.test.ts'],
          exclude: [...configDefaults.exclude, ...PURE, ...ALONE],
          ...together,
        },
      },
      { extends: true, test: { name: 'alone', include: ALONE, maxWorkers: 1, sequence: { groupOrder: 1 } } },
    ],
  },
})
