import { existsSync } from 'node:fs'

/** How the browser is started: Debian's Chromium, without looking for anything on a network. */
export const CHROMIUM = {
  executablePath: '/usr/bin/chromium',
  args: [
    '--headless',
    '--no-sandbox',
    '--disable-gpu',
    '--disable-quic',
    '--no-first-run',
    '--disable-background-networking',
    '--disable-component-update',
    '--disable-sync',
  ],
}

/** Why browser tests are skipped here, or "" where they run. */
export const NO_CHROMIUM = existsSync(CHROMIUM.executablePath) ? '' : 'Chromium is not installed'
