import { spawnSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'

const README = join(import.meta.dirname, '..', '..', '..', 'README.md')

/** What `openssl` alone says of a record, by the recipe of the README, with the public key of the data folder that it was made in. */
export function opensslSays(jws: string, dataFolder: string): string {
  const recipe = /```sh\n(# with openssl alone[\s\S]*?)```/.exec(readFileSync(README, 'utf8'))?.[1]
  if (recipe === undefined) throw new Error('the README has no recipe for openssl')
  const at = mkdtempSync(join(tmpdir(), 'trimwright-openssl-'))
  try {
    writeFileSync(join(at, 'record.jws'), jws)
    writeFileSync(join(at, 'signing-key.pub.pem'), readFileSync(join(dataFolder, 'signing-key.pub.pem')))
    const { stdout, stderr } = spawnSync('bash', ['-c', recipe], { cwd: at, encoding: 'utf8' })
    return `${stdout}${stderr}`.trim()
  } finally {
    rmSync(at, { recursive: true, force: true })
  }
}

export const OPENSSL_GOOD = 'Signature Verified Successfully'
