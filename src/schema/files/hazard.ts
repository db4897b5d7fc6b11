/** What is dangerous about a kind of radio, as a procedure names it. */
export const HAZARDS = [
  'lithium pack',
  'battery eliminator',
  'beryllium oxide',
  'mains inside',
  'headphones',
  'distress functions',
] as const
export type Hazard = (typeof HAZARDS)[number]
