import { expect, test } from 'vitest'
import { serialDifference } from '../../../web/view/serial.ts'

test.each([
  ['BW-0417', 'BW-0417', ''],
  [
    'BW-O417',
    'BW-0417',
    'The two differ at place 4: the letter O in the first, the digit 0 in the second, which look alike. Look at the set again.',
  ],
  ['BW-04I7', 'BW-0417', 'place 6: the letter I in the first, the digit 1 in the second, which look alike'],
  ['BW-8417', 'BW-B417', 'place 4: the digit 8 in the first, the letter B in the second, which look alike'],
  ['BW-0417', 'BW-0471', 'place 6: the digit 1 in the first, the digit 7 in the second. Look'],
  ['BW-0417', 'BW-041', 'place 7: the digit 7 in the first, nothing in the second. Look'],
  ['BW-0417', 'BW 0417', 'place 3: - in the first, a space in the second. Look'],
  ['BW-0O17', 'BW-O017', 'place 4: the digit 0 in the first, the letter O in the second, which look alike'],
])('%s, then %s: "%s"', (first, second, told) => {
  const said = serialDifference(first, second)
  if (told === '') expect(said).toBe('')
  else expect(said).toContain(told)
})
