import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { FAULTS } from '../../src/fault/faults.ts'
import { handbookPages } from '../../web/handbook/handbook-pages.ts'

const FOLDER = join(import.meta.dirname, '..', '..', 'web', 'handbook')
const pages = handbookPages(FOLDER)
const paths = new Set(pages.map(({ path }) => `/${path}`))

test('every Markdown file is a page with a title', () => {
  expect(pages).toHaveLength(readdirSync(FOLDER).filter((name) => name.endsWith('.md')).length)
  for (const { html } of pages) expect(html).toMatch(/<title>.+ - Trimwright handbook<\/title>[\s\S]*<h1>/)
})

test('every link leads to a page that is served, none to a network, and nothing is a script', () => {
  for (const { html } of pages) {
    const links = [...html.matchAll(/href="([^"]+)"/g)].map(([, to]) => to ?? '')
    for (const to of links)
      expect(to === '/handbook' || paths.has(to) || /^\/handbook\/[\w-]+\.(css|svg)$/.test(to), to).toBe(true)
    expect(html).not.toMatch(/<script|https?:\/\/|style="/)
  }
})

test('each page can be reached from the first', () => {
  const first = pages.find(({ path }) => path === 'handbook/index.html')?.html ?? ''
  for (const path of paths) if (path !== '/handbook/index.html') expect(first).toContain(`href="${path}"`)
})

test('every fault stands on the page of messages', () => {
  const faults = pages.find(({ path }) => path === 'handbook/faults.html')?.html ?? ''
  for (const code of Object.keys(FAULTS)) expect(faults).toContain(`<code>${code}</code>`)
})

test('a file without a heading is refused by name', () => {
  const folder = mkdtempSync(join(tmpdir(), 'handbook-'))
  try {
    writeFileSync(join(folder, 'plain.md'), 'no heading')
    expect(() => handbookPages(folder)).toThrow('handbook page plain.md: the first heading is missing')
  } finally {
    rmSync(folder, { recursive: true })
  }
})
