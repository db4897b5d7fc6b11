// The keeper as a process; what it does is in keeper-main.ts.
require('./launch.cjs').launch('keeper', 'src/keeper-main.ts')
