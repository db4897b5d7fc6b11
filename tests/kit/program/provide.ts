/**
 * Before the tests: what they need beyond npm (Chromium, socat, a general-purpose SCPI client for Python).
 * Installed here where that is possible (Debian, as root); otherwise the command to run is named, and the tests
 * that need it are skipped with their reason.
 */
import { spawnSync } from 'node:child_process'
import { existsSync } from 'node:fs'

const NEEDS = [
  { name: 'chromium', there: () => existsSync('/usr/bin/chromium') },
  { name: 'socat', there: () => existsSync('/usr/bin/socat') },
  { name: 'python3-pyvisa', there: () => python('import pyvisa') },
  { name: 'python3-pyvisa-py', there: () => python('import pyvisa_py') },
]

function python(line: string): boolean {
  return spawnSync('/usr/bin/python3', ['-c', line]).status === 0
}

const missing = NEEDS.filter((need) => !need.there()).map((need) => need.name)
if (missing.length > 0) {
  const packages = missing.join(' ')
  const command = `apt-get install -y --no-install-recommends ${packages}`
  const canInstall = existsSync('/usr/bin/apt-get') && process.getuid?.() === 0
  if (canInstall) {
    console.log(`installing for the tests: ${packages}`)
    const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' }
    spawnSync('apt-get', ['update', '-qq'], { stdio: 'ignore', env })
    const done = spawnSync('apt-get', ['install', '-y', '-qq', '--no-install-recommends', ...missing], {
      stdio: 'ignore',
      env,
    })
    if (done.status !== 0) console.log(`could not install them; run: sudo ${command}`)
  } else {
    console.log(`some tests will be skipped; they need: sudo ${command}`)
  }
}
