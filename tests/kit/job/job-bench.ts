import { join } from 'node:path'
import { loadPlans, loadProcedure } from '../../../src/commands/load-procedures.ts'
import { advance, startJob } from '../../../src/core/job/job.ts'
import { frameOf } from '../../../src/core/job/picture/job-view.ts'
import type { Effect, Job, JobEvent } from '../../../src/core/job/state/job-types.ts'
import { planJob } from '../../../src/core/plan/job-plan.ts'
import { type Quantity, unitOf } from '../../../src/quantity/quantity.ts'
import type { RuleCard } from '../../../src/schema/files/rule-card.ts'
import type { MeterFacts, Reading } from '../../../src/schema/kept/reading.ts'
import type { SupplyTrip } from '../../../src/schema/kept/supply-trip-kind.ts'
import type { SupplyState } from '../../../src/schema/messages/keeper-message.ts'
import type { FromPage, LiveFrame } from '../../../src/schema/messages/shown.ts'
import { worded } from '../../../src/words/sentence/sentence.ts'

/** A quiet meter: 4 readings a second, 0.2 s late. */
export function quietMeter(quantity: Quantity, more: Partial<MeterFacts> = {}): MeterFacts {
  return {
    quantity,
    unit: unitOf(quantity),
    instrument: `${quantity} meter`,
    driver: 'test',
    everyMs: 250,
    latencyMs: 200,
    recoverMs: 0,
    gateMs: 0,
    step: quantity === 'frequency' ? 1 : 0.001,
    noise: { ofReading: 0.0001, floor: quantity === 'frequency' ? 1 : 0.001 },
    smoothing: 0,
    accuracy: { ofReading: 0.01, floor: 0 },
    pathLossDb: 0,
    inputOhms: null,
    inputIsolated: 'yes',
    typed: false,
    ...more,
  }
}

export const WHOLE_SHEET = join(import.meta.dirname, '..', '..', '..', 'procedures', 'brackwater-27m-transmit.yaml')
export const PROCEDURE = join(import.meta.dirname, '..', '..', '..', 'procedures', 'brackwater-27m-transmit-short.yaml')

/** A meter that never wobbles is rightly called frozen. */
const WOBBLE = [0, 1, -1, 0.5, 0, -0.5, 1, -1, 0.3, -0.7, 0.4]

export const METERS = [
  quietMeter('DC voltage', { inputOhms: 10e6 }),
  quietMeter('frequency', { everyMs: 1000, latencyMs: 1000, gateMs: 1000 }),
  quietMeter('RF power'),
  quietMeter('FM deviation', { step: 1, noise: { ofReading: 0, floor: 1 } }),
  quietMeter('DC current'),
]

/**
 * A bench that obeys: what the job wants is done at once, and time passes only where a test says so. Readings are what the test
 * says they are. For tests of the job's state machine alone.
 */
export class JobBench {
  job: Job
  nowMs = 0
  epoch = 0
  amps = 0.3
  volts = 0
  output: 'on' | 'off' = 'off'
  /** The journal takes what is to be kept at once; false: nothing comes back. */
  keeps = true
  /** What each meter would show; a quantity without an entry does not answer. */
  readonly shows = new Map<Quantity, number>()
  /** The same of one meter by its name, where several read the quantity. */
  readonly showsAt = new Map<string, number>()
  readonly effects: Effect[] = []
  #asked = 0
  #count = 0

  constructor(
    meters: readonly MeterFacts[] = METERS,
    more: {
      readonly procedure?: string
      readonly ruleCard?: RuleCard
      readonly supplyTrip?: SupplyTrip
      /** Other steps that these adjusters move, instead of what the file says. */
      readonly disturbs?: Readonly<Record<string, readonly string[]>>
    } = {},
  ) {
    const plans = loadPlans()
    const { procedure: read } = loadProcedure(more.procedure ?? PROCEDURE, plans)
    const others = Object.entries(more.disturbs ?? {}).map(([name, disturbs]) => [
      name,
      { ...read.adjusters[name], disturbs },
    ])
    const procedure = { ...read, adjusters: { ...read.adjusters, ...Object.fromEntries(others) } }
    this.job = startJob(
      planJob(procedure, plans, {
        bands: [],
        serial: 'T-1',
        ruleCard: more.ruleCard ?? null,
        meters,
        setsTone: true,
        supplyTrip: more.supplyTrip ?? 'own',
        simulated: true,
      }),
      0,
      '2026-01-05T08:00:00.000Z',
    )
    this.feed({ kind: 'supply', state: this.supplyState(), atMs: 0 })
  }

  supplyState(): SupplyState {
    const { nowMs, volts, amps, output } = this
    const flow = output === 'on' ? amps : 0
    return {
      beganMs: nowMs,
      atMs: nowMs,
      volts: output === 'on' ? volts : 0,
      amps: flow,
      rawAmps: flow.toFixed(3),
      output,
      regulation: 'voltage',
      tripped: false,
      setVolts: volts,
      limitAmps: 2.5,
      moving: false,
      resting: 'working',
    }
  }

  feed(event: JobEvent): { ok: boolean; words: string } | null {
    const { job, effects, answer } = advance(
      this.job,
      event,
      new Date(Date.UTC(2026, 0, 5, 8) + this.nowMs).toISOString(),
    )
    this.job = job
    for (const effect of effects) this.#do(effect)
    return worded(answer)
  }

  #do(effect: Effect): void {
    this.effects.push(effect)
    if (effect.kind === 'raise epoch') {
      this.epoch += 1
      this.feed({ kind: 'changed', cause: effect.cause, epoch: this.epoch, atMs: this.nowMs })
    }
    if (effect.kind === 'arm') {
      this.output = 'on'
      this.volts = effect.volts
      this.feed({ kind: 'supply', state: this.supplyState(), atMs: this.nowMs })
      this.feed({ kind: 'armed', id: effect.id, ok: true, words: '', atMs: this.nowMs })
    }
    if (effect.kind === 'normal') this.volts = 13.8
    if (effect.kind === 'keep' && this.keeps) this.feed({ kind: 'kept', ok: true, words: '', atMs: this.nowMs })
    if (effect.kind === 'safe') this.output = 'off'
  }

  ask(request: { readonly kind: FromPage['kind'] } & Record<string, unknown>): { ok: boolean; words: string } {
    this.#asked += 1
    const whole = { id: `t${this.#asked}`, ...request } as FromPage // the tests write whole requests; the door is tested elsewhere
    return this.feed({ kind: 'request', request: whole, atMs: this.nowMs }) ?? { ok: false, words: 'no answer' }
  }

  key(down: boolean): void {
    this.amps = down ? 1.1 : 0.3
    this.feed({ kind: 'supply', state: this.supplyState(), atMs: this.nowMs })
  }

  /** Lets time pass: supply 10/s, meters at their own rate, each reading begun one latency before it arrives. */
  run(seconds: number): void {
    const endMs = this.nowMs + seconds * 1000
    while (this.nowMs < endMs - 1e-6) {
      this.nowMs += 50
      if (this.nowMs % 100 === 0) this.feed({ kind: 'supply', state: this.supplyState(), atMs: this.nowMs })
      for (const facts of this.job.plan.meters) if (this.nowMs % facts.everyMs === 0) this.#read(facts)
      this.feed({ kind: 'tick', atMs: this.nowMs })
    }
  }

  #read(facts: MeterFacts): void {
    const shown =
      facts.quantity === 'DC current'
        ? this.output === 'on'
          ? this.amps
          : 0
        : (this.showsAt.get(facts.instrument) ?? this.shows.get(facts.quantity))
    if (shown === undefined) return
    this.#count += 1
    const value = shown + facts.noise.floor * (WOBBLE[this.#count % WOBBLE.length] ?? 0)
    const reading: Reading = {
      quantity: facts.quantity,
      instrument: facts.instrument,
      ...(facts.role === undefined ? {} : { role: facts.role }),
      epoch: this.epoch,
      beganMs: this.nowMs - facts.latencyMs,
      arrivedMs: this.nowMs,
      raw: value.toExponential(6),
      value,
      state: 'good',
      ...(facts.quantity === 'FM deviation' ? { parts: [value, value * 0.96] } : {}),
    }
    this.feed({ kind: 'reading', reading, atMs: this.nowMs })
  }

  frame(): LiveFrame {
    return worded(frameOf(this.job, { bench: { name: 'test', simulated: true }, seq: 1 }))
  }

  /** Opens a step by its id and starts it. */
  begin(step: string): void {
    this.ask({ kind: 'open step', step })
    this.ask({ kind: 'ready' })
    for (let at = 0; at < 3 && this.frame().state === 'action'; at += 1) this.ask({ kind: 'confirm' })
  }

  /** The effects of one kind, oldest first. */
  did(kind: Effect['kind']): readonly Effect[] {
    return this.effects.filter((effect) => effect.kind === kind)
  }
}
