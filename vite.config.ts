import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { defineConfig, type Plugin } from 'vite'
import { handbookPages } from './web/handbook/handbook-pages.ts'

const WEB = join(import.meta.dirname, 'web')

/** The handbook as plain pages beside the gauge page. */
const handbook: Plugin = {
  name: 'handbook',
  generateBundle() {
    for (const { path, html } of handbookPages(join(WEB, 'handbook')))
      this.emitFile({ type: 'asset', fileName: path, source: html })
    for (const file of ['handbook/handbook.css', 'icon.svg'])
      this.emitFile({
        type: 'asset',
        fileName: join('handbook', file.replace('handbook/', '')),
        source: readFileSync(join(WEB, file)),
      })
  },
}

/** Parts of the dictionary that no frame and no answer says: those of the command line and of the report. */
const UNSAID = /src\/words\/english\/(command|report)\.ts$/

const dictionary: Plugin = {
  name: 'dictionary',
  load(id) {
    const part = UNSAID.exec(id)?.[1]
    return part === undefined ? null : `export const ${part.toUpperCase()} = {}`
  },
}

/** Builds the gauge page of web/ into web/dist, which the service serves as it is. */
export default defineConfig({
  root: 'web',
  base: './',
  publicDir: false,
  plugins: [handbook, dictionary],
  build: { outDir: 'dist', emptyOutDir: true, target: 'es2022', assetsInlineLimit: 0 },
})
