/** What the person is told while a reading is watched and a step is worked on. */
export const GUIDE = {
  'guide.wait': 'Wait',
} as const
