import type { Event } from './events.ts'
import type { Rule } from './oracle.ts'

/** A fault that was there once: the shortest list of events that showed it, and by which rule it is seen. */
export interface Found {
  readonly fault: string
  /** Number of the item of the list of faults that it belongs to. */
  readonly item: 1 | 2 | 3 | 4 | 5 | 6
  readonly rules: readonly Rule[]
  readonly events: readonly Event[]
}

const begun = (step: string): readonly Event[] => [
  { what: 'open', step, atMs: 50 },
  { what: 'press', atMs: 200 },
]

const RAISED: readonly Rule[] = ['raised after its end', 'high too long']

/** Each is run with several seeds, which is several paces of its messages: any of them may show it. */
export const FOUND: readonly Found[] = [
  ...[60, 120, 250].map(
    (ms): Found => ({
      fault: `Ready, and the page hidden ${ms} ms later`,
      item: 1,
      rules: RAISED,
      events: [...begun('high-power'), { what: 'hide', atMs: 200 + ms }],
    }),
  ),
  ...[2600, 3400].map(
    (ms): Found => ({
      fault: `the page hidden on the way up, ${ms} ms after Ready`,
      item: 1,
      rules: RAISED,
      events: [...begun('high-power'), { what: 'hide', atMs: 200 + ms }],
    }),
  ),
  {
    fault: 'Ready, and another step opened 200 ms later',
    item: 1,
    rules: RAISED,
    events: [...begun('high-power'), { what: 'open', step: 'normal-receive', atMs: 400 }],
  },
  ...[2300, 2700, 3100].map(
    (ms): Found => ({
      fault: `a slow oscillator, and the page hidden ${ms} ms after Ready`,
      item: 1,
      rules: RAISED,
      events: [{ what: 'slow oscillator', ms: 150, atMs: 0 }, ...begun('high-tone'), { what: 'hide', atMs: 200 + ms }],
    }),
  ),
  {
    fault: 'an off of the keeper for the wish before, told after Ready for the next one',
    item: 1,
    rules: RAISED,
    events: [
      ...begun('high-power'),
      { what: 'link', fault: { kind: 'cut' }, ms: 1628, atMs: 8206 },
      { what: 'press', atMs: 10_174 },
      { what: 'press', atMs: 10_378 },
    ],
  },
  ...[350, 400, 500].map(
    (ms): Found => ({
      fault: `the service frozen for 0.75 s, and STOP pressed meanwhile, ${ms} ms after Ready`,
      item: 2,
      rules: ['on after STOP'],
      events: [
        ...begun('high-power'),
        { what: 'freeze', who: 'service', ms: 750, atMs: 200 + ms - 100 },
        { what: 'stop', atMs: 200 + ms },
      ],
    }),
  ),
  ...[330, 450].map(
    (ms): Found => ({
      fault: `STOP ${ms} ms after Ready`,
      item: 2,
      rules: ['on after STOP'],
      events: [...begun('high-power'), { what: 'stop', atMs: 200 + ms }],
    }),
  ),
  {
    fault: 'the page hidden while the radio is to be set to another channel',
    item: 3,
    rules: ['high too long'],
    events: [...begun('high-receive'), { what: 'hide', atMs: 14_000 }],
  },
  {
    fault: 'the meter lost, the page hidden, the meter back',
    item: 3,
    rules: RAISED,
    events: [
      ...begun('high-receive'),
      { what: 'meter', name: 'volts', ms: 3000, atMs: 6000 },
      { what: 'hide', atMs: 7500 },
    ],
  },
  {
    fault: 'every reply doubled, and STOP',
    item: 4,
    rules: ['on after STOP', 'high too long'],
    events: [
      ...begun('high-power'),
      { what: 'link', fault: { kind: 'twice' }, ms: 9000, atMs: 6000 },
      { what: 'stop', atMs: 6100 },
    ],
  },
  {
    fault: 'every reply doubled, and the keeper killed',
    item: 4,
    rules: ['high too long'],
    events: [
      ...begun('high-power'),
      { what: 'link', fault: { kind: 'twice' }, ms: 9000, atMs: 6000 },
      { what: 'kill', who: 'keeper', atMs: 6100 },
    ],
  },
  {
    fault: 'the standby killed on the way up, and the service too frozen to start another',
    item: 5,
    rules: ['up alone'],
    events: [
      ...begun('high-power'),
      { what: 'freeze', who: 'service', ms: 2000, atMs: 2600 },
      { what: 'kill', who: 'standby', atMs: 2610 },
    ],
  },
  {
    fault: 'the keeper frozen',
    item: 5,
    rules: ['high too long'],
    events: [...begun('high-power'), { what: 'freeze', who: 'keeper', ms: 8000, atMs: 6000 }],
  },
  {
    fault: 'both service and keeper frozen',
    item: 5,
    rules: ['high too long'],
    events: [
      ...begun('high-power'),
      { what: 'freeze', who: 'service', ms: 8000, atMs: 6000 },
      { what: 'freeze', who: 'keeper', ms: 8000, atMs: 6100 },
    ],
  },
  {
    fault: 'the service frozen and the keeper killed',
    item: 5,
    rules: ['high too long'],
    events: [
      ...begun('high-power'),
      { what: 'freeze', who: 'service', ms: 8000, atMs: 6000 },
      { what: 'kill', who: 'keeper', atMs: 6200 },
    ],
  },
  {
    fault: 'both service and keeper killed',
    item: 5,
    rules: ['high too long', 'does not end'],
    events: [
      ...begun('high-power'),
      { what: 'freeze', who: 'service', ms: 8000, atMs: 5900 },
      { what: 'kill', who: 'keeper', atMs: 6000 },
      { what: 'kill', who: 'service', atMs: 6050 },
    ],
  },
  {
    fault: 'STOP at the extreme voltage',
    item: 6,
    rules: ['left high'],
    events: [...begun('high-power'), { what: 'stop', atMs: 6000 }],
  },
]

/** Seeds that every list is run with: chance has the delays. */
export const FOUND_SEEDS = [1, 2, 3, 4, 5, 6, 7, 8] as const
