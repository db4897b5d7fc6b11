import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { inflateSync } from 'node:zlib'
import { chromium } from 'playwright-core'
import { describe, expect, test } from 'vitest'
import { runFast } from '../../src/commands/job/job-fast.ts'
import { report } from '../../src/commands/report.ts'
import { WHOLE_SHEET } from '../kit/job/job-bench.ts'
import { dataFolder } from '../kit/job/journal-kit.ts'
import { CHROMIUM, NO_CHROMIUM } from '../kit/program/chromium.ts'

const folder = dataFolder()
const { outcome } = await runFast({ procedure: WHOLE_SHEET, seed: 9, warm: true, bands: [], recordIn: folder })
const { record } = outcome

async function run(words: readonly string[], values: Readonly<Record<string, string | boolean>> = {}) {
  const out: string[] = []
  const err: string[] = []
  const output = { out: (line: string) => out.push(line), err: (line: string) => err.push(line) }
  const exit = await report.run(values, words, output, new AbortController().signal)
  return { exit, out, err }
}

describe('report', () => {
  test('writes the report beside the record, or where --out says', async () => {
    const beside = record.replace('.jws', '.html')
    expect(await run([record])).toEqual({ exit: 0, out: [beside], err: [] })
    const out = join(folder, 'page.html')
    expect((await run([record], { out, json: true })).out).toEqual([JSON.stringify({ file: out })])
    expect(readFileSync(out, 'utf8')).toBe(readFileSync(beside, 'utf8'))
  })

  test('refuses a record that does not hold with 1 and what is no record with 2, and writes nothing', async () => {
    const text = readFileSync(record, 'utf8')
    const [bent, none] = [join(folder, 'bent.jws'), join(folder, 'none.jws')]
    writeFileSync(bent, `${text.slice(0, 9000)}${text[9000] === 'A' ? 'B' : 'A'}${text.slice(9001)}`)
    writeFileSync(none, 'hello')
    const [one, two] = [await run([bent]), await run([none])]
    expect([one.exit, two.exit]).toEqual([1, 2])
    expect(one.err[0]).toMatch(/^Not intact/)
    expect([join(folder, 'bent.html'), join(folder, 'none.html')].map((file) => existsSync(file))).toEqual([
      false,
      false,
    ])
  })

  test('never writes over the record, and says where it cannot write', async () => {
    const before = readFileSync(record, 'utf8')
    await expect(run([record], { out: record })).rejects.toMatchObject({ code: 'COMMAND_USAGE' })
    expect(readFileSync(record, 'utf8')).toBe(before)
    await expect(run([record], { out: '/nowhere/at/all.html' })).rejects.toMatchObject({ code: 'RECORD_WRITE_FAILED' })
    await expect(run([])).rejects.toMatchObject({ code: 'COMMAND_USAGE' })
  })

  test.skipIf(NO_CHROMIUM !== '')(
    'fits the width of A4 when printed, with SIMULATED and its page number on every page',
    async () => {
      await run([record])
      const browser = await chromium.launch(CHROMIUM)
      try {
        const page = await browser.newPage({ viewport: { width: 688, height: 1000 } }) // 182 mm between the margins
        const asked: string[] = []
        page.on('request', (request) => asked.push(request.url()))
        const address = `file://${record.replace('.jws', '.html')}`
        await page.goto(address)
        await page.emulateMedia({ media: 'print' })
        expect(await page.evaluate('document.documentElement.scrollWidth')).toBeLessThanOrEqual(688)
        expect(asked).toEqual([address])
        const texts = pageTexts(await page.pdf({ preferCSSPageSize: true }))
        expect(texts.length).toBeGreaterThanOrEqual(2)
        texts.forEach((text, at) => {
          expect(text.replace(/\s+/g, ' ')).toContain(`page ${at + 1} of ${texts.length}`)
          expect(text).toContain('SIMULATED')
          expect(text).toContain(outcome.record.replace(/^.*\/(.*)\.jws$/, '$1'))
        })
      } finally {
        await browser.close()
      }
    },
    30_000,
  )
})

/** The text of each page of a PDF whose fonts say what their glyphs mean. */
function pageTexts(pdf: Buffer): readonly string[] {
  const objects = new Map(
    [...pdf.toString('latin1').matchAll(/(\d+) 0 obj(.*?)endobj/gs)].map(([, n, body]) => [n ?? '', body ?? '']),
  )
  const streamOf = (n: string | undefined) => {
    const body = objects.get(n ?? '') ?? ''
    const bytes = Buffer.from(/stream\r?\n(.*?)\r?\nendstream/s.exec(body)?.[1] ?? '', 'latin1')
    return (body.includes('FlateDecode') ? inflateSync(bytes) : bytes).toString('latin1')
  }
  const glyphs = new Map<string, ReadonlyMap<number, string>>()
  for (const [n, body] of objects) {
    const map = /\/ToUnicode (\d+) 0 R/.exec(body)?.[1]
    if (map !== undefined) glyphs.set(n, glyphsOf(streamOf(map)))
  }
  const pages = [...objects.values()].filter((body) => /\/Type\s*\/Page\b/.test(body))
  return pages.map((body) => {
    const fonts = new Map(
      [...body.matchAll(/\/(F\d+) (\d+) 0 R/g)].map(([, name, n]) => [name ?? '', glyphs.get(n ?? '')]),
    )
    let font: ReadonlyMap<number, string> | undefined
    let text = ''
    for (const [, name, hex, begin] of streamOf(/\/Contents (\d+)/.exec(body)?.[1]).matchAll(
      /\/(F\d+) [\d.]+ Tf|<([0-9A-Fa-f]+)>|(BT)/g,
    )) {
      if (name !== undefined) font = fonts.get(name)
      if (begin !== undefined) text += ' '
      for (const digits of hex?.match(/.{4}/g) ?? []) text += font?.get(Number.parseInt(digits, 16)) ?? ''
    }
    return text
  })
}

/** A ToUnicode map: single glyphs and ranges of them. */
function glyphsOf(map: string): ReadonlyMap<number, string> {
  const text = (hex: string) =>
    String.fromCharCode(...(hex.match(/.{4}/g) ?? []).map((four) => Number.parseInt(four, 16)))
  const found = new Map<number, string>()
  for (const [, block = ''] of map.matchAll(/beginbfchar(.*?)endbfchar/gs))
    for (const [, from = '', to = ''] of block.matchAll(/<(\w+)> <(\w+)>/g))
      found.set(Number.parseInt(from, 16), text(to))
  for (const [, block = ''] of map.matchAll(/beginbfrange(.*?)endbfrange/gs))
    for (const [, from = '', end = '', to = ''] of block.matchAll(/<(\w+)> <(\w+)> <(\w+)>/g)) {
      const first = Number.parseInt(from, 16)
      for (let at = first; at <= Number.parseInt(end, 16); at++)
        found.set(at, String.fromCharCode(Number.parseInt(to, 16) + at - first))
    }
  return found
}
