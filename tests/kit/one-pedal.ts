import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { chromium, type Page } from 'playwright-core'
import { createHand } from '../../mocks/hand.ts'
import type { FromPage, LiveFrame } from '../../src/schema/live-frame.ts'
import { realClock } from '../../src/system/clock.ts'
import { seededRng } from '../../src/system/rng.ts'
import { CHROMIUM } from './chromium.ts'
import { joinLive } from './live-client.ts'
import { runCommand } from './run-command.ts'
import { startService } from './service.ts'
import { setOverSocket } from './set-over-socket.ts'

export interface PedalJob {
  /** The last frame of the job. */
  readonly done: LiveFrame
  /** What each press of the pedal was for. */
  readonly presses: readonly FromPage['kind'][]
  /** How often the supply was off for safety and the person went on from the screen, as only a screen can. */
  readonly stops: readonly string[]
  /** What the hands wanted that no pedal can say. */
  readonly odd: readonly string[]
  /** What the set's page refused. */
  readonly refused: readonly string[]
  /** What `verify` says of its record, and its exit code. */
  readonly verified: { readonly code: number | null; readonly out: string }
}

/** What a press may stand for. The settings of a set are read off its menu and typed: no pedal writes words. */
const PEDAL: ReadonlySet<FromPage['kind']> = new Set(['ready', 'confirm', 'next', 'go on'])

/**
 * A whole job in a browser: from the job form on the gauge page is touched by one pedal alone (PageDown), but for the settings that
 * are typed; the hands work at the set over the socket of its own page and see the frames that the gauge page shows. Rejects when the
 * job is not done in `longestS`, saying where it stands.
 */
export async function jobByOnePedal(about: {
  readonly sheet: string
  readonly pace: number
  readonly longestS: number
}): Promise<PedalJob> {
  const folder = mkdtempSync(join(tmpdir(), 'trimwright-pedal-'))
  const closers: (() => unknown)[] = [() => rmSync(folder, { recursive: true, force: true })]
  try {
    const service = await startService(['--data', folder, '--pace', String(about.pace)])
    closers.push(() => service.close())
    const browser = await chromium.launch(CHROMIUM)
    closers.push(() => browser.close())
    const gauge = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage()
    await gauge.goto(service.url)
    await gauge.getByRole('button', { name: 'Change' }).waitFor() // it steers; whoever comes later looks on
    const hands = await setOverSocket(service.setPage)
    closers.push(() => hands.close())
    const watcher = await joinLive(service)
    closers.push(() => watcher.close())
    const stopping = new AbortController()
    closers.push(() => stopping.abort(new Error('the job is over')))

    let frame: LiveFrame | null = null
    const pedal = onePedal(gauge, () => frame)
    const hand = createHand({
      set: hands.set,
      clock: realClock(service.pace),
      rng: seededRng(2),
      request: pedal.request,
      signal: stopping.signal,
    })
    await begin(gauge, about.sheet)
    const here = setInterval(() => watcher.say({ kind: 'here', visible: true }), 1000)
    closers.push(() => clearInterval(here))
    const done = await new Promise<LiveFrame>((resolve, reject) => {
      const tooLong = setTimeout(() => {
        const at = `${frame?.step?.id}: ${frame?.state}, ${frame?.guide.words} ${frame?.because}`
        reject(new Error(`not done in ${about.longestS} s; at ${at}; after ${pedal.presses.length} presses`))
      }, about.longestS * 1000)
      closers.push(() => clearTimeout(tooLong))
      watcher.socket.on('message', (data) => {
        const message = JSON.parse(String(data))
        if (message.kind !== 'frame') return
        const now: LiveFrame = message
        frame = now
        hand.onFrame(now)
        if (now.state === 'stopped') pedal.goOn(now.because)
        if (now.state === 'finished') resolve(now)
      })
    })
    await pedal.atRest()
    await gauge.getByRole('button', { name: 'Close the job' }).first().click()
    const closed = await watcher.take('frame', ({ job }) => (job?.record ?? '') !== '')
    const verified = await runCommand(['verify', closed.job?.record ?? ''])
    return { done, presses: pedal.presses, stops: pedal.stops, odd: pedal.odd, refused: hands.refused, verified }
  } finally {
    for (const close of closers.toReversed()) await close()
  }
}

async function begin(gauge: Page, sheet: string): Promise<void> {
  await gauge.getByRole('button', { name: 'Change' }).click()
  await gauge.getByRole('button', { name: 'Start a job' }).click()
  await gauge.getByText(sheet, { exact: true }).click()
  await gauge.getByLabel('Serial number').fill('PEDAL-1')
  await gauge.getByLabel('The same serial').fill('PEDAL-1')
  await gauge.getByRole('button', { name: 'Begin' }).click()
}

/** Turns what the hands want of the service into presses of one key and words in fields, one after the other. */
function onePedal(gauge: Page, frame: () => LiveFrame | null) {
  const presses: FromPage['kind'][] = []
  const odd: string[] = []
  let touches: Promise<unknown> = Promise.resolve()
  const touch = (does: () => Promise<unknown>) => {
    touches = touches.then(does, does)
  }
  const request = (asked: FromPage) => {
    if (PEDAL.has(asked.kind))
      touch(async () => {
        // a step that went on by itself meanwhile wants no foot
        if (!frame()?.offers.some((offer) => offer === asked.kind)) return
        presses.push(asked.kind)
        await gauge.keyboard.press('PageDown')
      })
    else if (asked.kind === 'note setting')
      touch(async () => {
        const column = { found: 'found', job: 'for this job', left: 'left' }[asked.column]
        await gauge.getByLabel(`${asked.name}, ${column}`, { exact: true }).fill(asked.value)
        await gauge.keyboard.press('Enter')
      })
    else if (asked.kind !== 'here') odd.push(JSON.stringify(asked))
  }
  const stops: string[] = []
  let going = false
  const goOn = (because: string) => {
    if (going) return
    going = true
    stops.push(because)
    touch(async () => {
      await gauge.getByRole('button', { name: 'Go on' }).click({ timeout: 10_000 })
      going = false
    })
  }
  return { request, presses, stops, goOn, odd, atRest: () => touches }
}
