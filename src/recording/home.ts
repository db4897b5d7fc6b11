import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

/** The project's own folder, wherever the program was started from. */
export const HOME = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
