import { readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { chromium, type Page } from 'playwright-core'
import { joinLive, type LiveClient } from '../kit/links/live-client.ts'
import { CHROMIUM } from '../kit/program/chromium.ts'
import type { ServiceProcess } from '../kit/program/service.ts'
import type { Figure } from './figure.ts'
import { nowMs, p99Figure, readingsOf } from './live-readings.ts'

/** What sound-probe.js says in the page. */
interface SoundProbe {
  /** `seq` null: not from a frame; `lateS`: how much later than it was ordered for. */
  readonly marks: readonly { readonly seq: number | null; readonly atMs: number; readonly lateS: number }[]
  readonly begins: readonly { readonly frame: number; readonly markFrame: number }[]
  readonly latency: { readonly baseMs: number; readonly outputMs: number }
}

/** The prods hang free, so the meter shows its noise near zero: well beside the aim, where the two tones beat without an end and each reading moves them. */
const INSIDE = { quantity: 'DC voltage', target: '-0.02 .. 0.06 V' }

const watching = () => ({ kind: 'watch', id: `sound-${nowMs()}`, ...INSIDE }) as const

/** Sound that begins may stand this much beside its mark, samples: nothing, but for the tone that starts at a zero. */
const BESIDE_SAMPLES = 4

/**
 * live.sound: last byte of a reply arriving in the service -> the sample of the sound output in which the page's answer to
 * that reading begins, as the audio thread rendered it, at the time at which the browser says that this sample is played.
 */
export async function soundFigure(service: ServiceProcess): Promise<Figure> {
  const steering = await joinLive(service)
  const { ok, words } = await steering.ask(watching())
  if (!ok) throw new Error(words)
  const browser = await chromium.launch(CHROMIUM)
  try {
    const page = await openProbed(browser, service.url)
    await page.mouse.click(2, 2) // sound starts with a touch
    const { arrivals } = await readingsOf(service, async () => {})
    await beginAnew(steering)
    const probe: SoundProbe = await page.evaluate(() => {
      const { marks, begins, latency } = Reflect.get(window, 'soundProbe')
      return { marks, begins, latency: latency() }
    })
    mindMarks(probe)
    const latencies = probe.marks.flatMap(({ seq, atMs }) => {
      const arrivedMs = seq === null ? undefined : arrivals.get(seq)
      return arrivedMs === undefined ? [] : [atMs - arrivedMs]
    })
    const { baseMs, outputMs } = probe.latency
    return p99Figure(
      'live.sound',
      latencies,
      60,
      `bound; last byte of a reply to the first sample of its change of the sound output of headless Chromium, p99 of ${latencies.length} changes of ${arrivals.size} readings; no sound card here: the browser says ${baseMs.toFixed(1)} ms to its mixer and ${outputMs.toFixed(1)} ms from there to the loudspeaker`,
    )
  } finally {
    await browser.close()
    steering.close()
  }
}

async function openProbed(browser: Awaited<ReturnType<typeof chromium.launch>>, url: string): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 }, bypassCSP: true }) // the probe is not the page's
  const worklet = await readFile(join(import.meta.dirname, 'sound-probe-worklet.js'), 'utf8')
  await page.addInitScript({ content: `window.soundProbeWorklet = ${JSON.stringify(worklet)}` })
  await page.addInitScript({ path: join(import.meta.dirname, 'sound-probe.js') })
  await page.goto(url)
  return page
}

/** Another target, open below, which has no homing sound, and then the first one again: so the probe can be held against sound that begins from silence. */
async function beginAnew(steering: LiveClient): Promise<void> {
  for (const target of ['at most 1 V', INSIDE.target]) {
    await steering.ask({ ...watching(), target })
    await new Promise((resolve) => setTimeout(resolve, 2_500))
  }
}

/** Throws where no sound that began from silence began with a mark. Pulses and buzzes, which are not marked, begin too. */
function mindMarks({ begins }: SoundProbe): void {
  const besides = begins.map(({ frame, markFrame }) => frame - markFrame)
  if (besides.some((samples) => Math.abs(samples) <= BESIDE_SAMPLES)) return
  throw new Error(`sound began ${besides.join(', ')} samples after the marks: they are not what is heard`)
}
