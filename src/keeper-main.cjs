// Lets plain Node run the keeper's TypeScript. Loaded the synchronous way: it starts in half the time, and the supply waits for it.
require('tsx/cjs')
require('./keeper-main.ts')
