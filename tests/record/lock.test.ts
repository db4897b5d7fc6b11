import { spawn } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test } from 'vitest'
import { continueJournal, openJournal } from '../../src/record/journal.ts'
import { headerOf, WALL } from '../kit/job/journal-kit.ts'

const folder = mkdtempSync(join(tmpdir(), 'trimwright-lock-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))

test('a journal that is being written is opened by nobody else: RECORD_IN_USE, with the file and the process', async () => {
  const journal = await openJournal({ folder, header: headerOf(), clock: WALL })
  await expect(continueJournal(journal.file, WALL)).rejects.toMatchObject({
    code: 'RECORD_IN_USE',
    message: expect.stringContaining(`process ${process.pid} writes this job (${journal.file}.lock)`),
  })
  await journal.append({ kind: 'event', what: 'note', words: 'still whole' })
  await journal.close()
  expect(existsSync(`${journal.file}.lock`)).toBe(false)
  const again = await continueJournal(journal.file, WALL)
  await again.close()
})

test('another process that is alive holds it; one that is gone does not', async () => {
  const header = { ...headerOf(), job: '20260105-080000-LOCK-0001' }
  const journal = await openJournal({ folder, header, clock: WALL })
  await journal.close()
  const other = spawn(process.execPath, ['-e', 'setTimeout(() => {}, 60_000)'])
  const gone = new Promise((resolve) => other.once('exit', resolve))
  writeFileSync(`${journal.file}.lock`, `${other.pid}\n`)
  await expect(continueJournal(journal.file, WALL)).rejects.toMatchObject({ code: 'RECORD_IN_USE' })
  other.kill('SIGKILL')
  await gone
  const again = await continueJournal(journal.file, WALL)
  await again.close()
})
