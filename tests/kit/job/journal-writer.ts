/** A process that writes to a journal as fast as it can and says each entry when it is kept, until somebody kills it. Argument: data folder. */
import { openJournal } from '../../../src/record/journal.ts'
import { headerOf, WALL } from './journal-kit.ts'

const [folder = ''] = process.argv.slice(2)
const journal = await openJournal({ folder, header: headerOf(), clock: WALL })
for (let number = 0; ; number += 4) {
  const four = [0, 1, 2, 3].map((more) => number + more)
  await Promise.all(
    four.map(async (one) => {
      await journal.append({ kind: 'event', what: 'note', words: `entry ${one} ${'x'.repeat(one % 97)}` })
      process.stdout.write(`${one}\n`)
    }),
  )
}
