import { expect, test } from 'vitest'
import { openAnswers } from '../../src/server/answers.ts'

test('remembers the last 200 answers and forgets the oldest first', async () => {
  const answers = openAnswers()
  for (let count = 0; count < 201; count += 1)
    answers.keep(`k${count}`, Promise.resolve({ ok: true, words: `${count}` }))
  expect(answers.find('k0')).toBeUndefined()
  expect(await answers.find('k1')).toEqual({ ok: true, words: '1' })
  expect(await answers.find('k200')).toEqual({ ok: true, words: '200' })
})

test('knows an answer that is still on its way', async () => {
  const answers = openAnswers()
  const { promise, resolve } = later()
  answers.keep('k', promise)
  const found = answers.find('k')
  resolve({ ok: false, words: 'not now' })
  expect(await found).toEqual({ ok: false, words: 'not now' })
})

function later() {
  let resolve: (answer: { ok: boolean; words: string }) => void = () => {}
  const promise = new Promise<{ ok: boolean; words: string }>((give) => {
    resolve = give
  })
  return { promise, resolve }
}
