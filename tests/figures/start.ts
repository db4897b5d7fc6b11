import { spawn } from 'node:child_process'
import { loadavg } from 'node:os'
import { join } from 'node:path'
import { chromium } from 'playwright-core'
import { CHROMIUM } from '../kit/program/chromium.ts'
import type { Figure } from './figure.ts'

const ROOT = join(import.meta.dirname, '..', '..')
const PORT = 8191
const BOUND_S = 2.5

/** start: `npm start` of an installed tree until the first reading stands on the page of a browser that is already open. Median of five. */
export async function startFigures(): Promise<readonly Figure[]> {
  const browser = await chromium.launch(CHROMIUM)
  const times: number[] = []
  try {
    for (let run = 0; run < 5; run++) times.push(await oneStart(browser))
  } finally {
    await browser.close()
  }
  times.sort((a, b) => a - b)
  const median = times[2] ?? Number.NaN
  const missed = median <= BOUND_S ? [] : [`start: ${median.toFixed(2)} s, the bound is ${BOUND_S} s`]
  const against = `bound; npm start to the first reading on a page in headless Chromium, median of five (${times.map((s) => s.toFixed(2)).join(', ')} s); load ${loadavg()[0]?.toFixed(1)}`
  return [{ name: 'start', ours: median, reference: BOUND_S, ratio: median / BOUND_S, unit: 's', against, missed }]
}

async function oneStart(browser: Awaited<ReturnType<typeof chromium.launch>>): Promise<number> {
  const page = await browser.newPage()
  const began = performance.now()
  const service = spawn('npm', ['start', '--silent', '--', '--port', String(PORT)], {
    cwd: ROOT,
    stdio: ['ignore', 'pipe', 'inherit'],
    detached: true,
  })
  const ended = new Promise<void>((resolve) => service.once('exit', () => resolve()))
  try {
    await new Promise<void>((resolve) => {
      service.stdout.on('data', (text) => {
        if (String(text).includes('gauge page')) resolve()
      })
    })
    await page.goto(`http://127.0.0.1:${PORT}/`)
    await page.waitForFunction(() => /\d/.test(document.querySelector('.digits')?.textContent ?? ''))
    return (performance.now() - began) / 1000
  } finally {
    await page.close()
    if (service.pid !== undefined) process.kill(-service.pid, 'SIGTERM')
    await ended
  }
}
