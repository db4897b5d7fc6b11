// Lets plain Node run the simulated bench. Loaded the synchronous way: the whole program waits for it to start.
require('tsx/cjs')
require('./main.ts')
