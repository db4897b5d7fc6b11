import { expect, test } from 'vitest'
import { z } from 'zod'
import { parseAtDoor } from '../../../src/schema/door/door.ts'

const Confirm = z.strictObject({ kind: z.literal('confirm'), step: z.string().min(1) })

test('a frame that fits comes through as it is', () => {
  expect(parseAtDoor(Confirm, { kind: 'confirm', step: 'drive' }, 'gauge page')).toEqual({
    kind: 'confirm',
    step: 'drive',
  })
})

test('a frame with two mistakes is refused with both, the door and the cure', () => {
  expect(() => parseAtDoor(Confirm, { kind: 'confirm', step: '', x: 1 }, 'gauge page')).toThrow(
    'gauge page: step: Too small: expected string to have >=1 characters; top level: Unrecognized key: "x". Correct what is named above and try again [SCHEMA_REJECTED]',
  )
})
