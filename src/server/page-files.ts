import { readdir, readFile, stat } from 'node:fs/promises'
import { extname, join, relative, sep } from 'node:path'
import { BenchError, wordsOf } from '../fault/bench-error.ts'

/** One file of the built page, as it is sent. */
export interface PageFile {
  readonly type: string
  readonly bytes: Buffer
}

/** Limits of the built page: far above what it is, far below what would hurt. */
const MAX_FILES = 200
const MAX_BYTES = 16 * 1024 * 1024
/** Stands in index.html where the token of this start goes. */
const TOKEN_PLACE = '%TOKEN%'

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.map': 'application/json; charset=utf-8',
  '.webmanifest': 'application/manifest+json; charset=utf-8',
  '.txt': 'text/plain; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
}

/**
 * Reads the built page once, so that no request ever reaches the disk: path ("/assets/x.js") -> file, "/" being index.html
 * with the token in its place, and "/handbook" the index.html of that folder. Throws SERVER_PAGE_MISSING.
 */
export async function readPageFiles(webRoot: string, token: string): Promise<ReadonlyMap<string, PageFile>> {
  const files = new Map<string, PageFile>()
  let bytesInAll = 0
  for (const path of await filePaths(webRoot)) {
    bytesInAll += (await stat(path)).size
    if (bytesInAll > MAX_BYTES || files.size >= MAX_FILES)
      throw missing(
        webRoot,
        `more than ${MAX_FILES} files or ${MAX_BYTES / 1024 / 1024} MiB there, so it is not the page`,
      )
    const type = TYPES[extname(path).toLowerCase()] ?? 'application/octet-stream'
    files.set(`/${relative(webRoot, path).split(sep).join('/')}`, { type, bytes: await readFile(path) })
  }
  const index = files.get('/index.html')
  if (!index) throw missing(webRoot, 'no index.html there')
  const html = index.bytes.toString('utf8')
  if (!html.includes(TOKEN_PLACE)) throw missing(webRoot, `index.html has no ${TOKEN_PLACE}, so it could never connect`)
  const withToken = { type: index.type, bytes: Buffer.from(html.replaceAll(TOKEN_PLACE, token)) }
  files.set('/', withToken).set('/index.html', withToken)
  for (const [path, file] of [...files]) {
    const folder = /^(\/.+)\/index\.html$/.exec(path)?.[1]
    if (folder !== undefined) files.set(folder, file).set(`${folder}/`, file)
  }
  return files
}

/** Plain files only: a symbolic link could lead anywhere. */
async function filePaths(folder: string): Promise<string[]> {
  try {
    const found: string[] = []
    for (const entry of await readdir(folder, { withFileTypes: true })) {
      const path = join(folder, entry.name)
      if (entry.isDirectory()) found.push(...(await filePaths(path)))
      else if (entry.isFile()) found.push(path)
      if (found.length > MAX_FILES) break
    }
    return found
  } catch (cause) {
    throw cause instanceof BenchError ? cause : missing(folder, wordsOf(cause), cause)
  }
}

function missing(folder: string, happened: string, cause?: unknown): BenchError {
  return new BenchError('SERVER_PAGE_MISSING', `page folder ${folder}`, happened, cause)
}
