// Starts one process of the program: built ahead of time where that build is newer than every source, else the TypeScript itself.
const { readdirSync, statSync } = require('node:fs')
const { join } = require('node:path')
const { pathToFileURL } = require('node:url')

const home = join(__dirname, '..')

/** When the newest source below a folder was written, ms. */
function newest(folder) {
  let ms = 0
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name)
    if (entry.isDirectory()) ms = Math.max(ms, newest(path))
    else if (entry.name.endsWith('.ts')) ms = Math.max(ms, statSync(path).mtimeMs)
  }
  return ms
}

function builtAfterSources(built) {
  const { mtimeMs } = statSync(built, { throwIfNoEntry: false }) ?? { mtimeMs: 0 }
  return mtimeMs > 0 && mtimeMs > newest(join(home, 'src')) && mtimeMs > newest(join(home, 'mocks'))
}

exports.launch = async (name, source) => {
  const built = join(home, 'node_modules', '.cache', 'trimwright', `${name}.mjs`)
  if (builtAfterSources(built)) return import(pathToFileURL(built).href)
  const { register } = await import('tsx/esm/api')
  register()
  return import(pathToFileURL(join(home, source)).href)
}
