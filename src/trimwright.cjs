#!/usr/bin/env node
// The program as a person starts it; what it does is in main.ts.
require('./launch.cjs').launch('main', 'src/main.ts')
