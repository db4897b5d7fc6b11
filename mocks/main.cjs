// The simulated bench as a process; what it does is in main.ts.
require('../src/launch.cjs').launch('simulated', 'mocks/main.ts')
