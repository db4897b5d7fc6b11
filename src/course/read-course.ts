import { readFileSync } from 'node:fs'
import { constants, gunzipSync } from 'node:zlib'
import { BenchError, happenedOf, wordsOf } from '../fault/bench-error.ts'
import {
  type CameLine,
  CourseHead,
  CourseLine,
  type DidLine,
  isCame,
  type TextFile,
} from '../schema/course/course-line.ts'
import { parseAtDoor } from '../schema/door/door.ts'
import { type Said, said, type Words } from '../words/said/said.ts'
import { sha256 } from './parts.ts'

/** Something that came, and what was done about it; at the opening nothing came. */
export interface Coming {
  readonly came: CameLine | null
  readonly did: readonly DidLine[]
}

/** A course as it was read: every part proved to follow the one before. */
export interface ReadCourse {
  readonly head: CourseHead
  readonly comings: readonly Coming[]
  /** Its beginning is there; else it was let go, since the course had grown too long. */
  readonly whole: boolean
  /** Why it ends where it ends; null where it was torn off. */
  readonly ends: string | null
}

/** Longest course that is read, bytes once it is unpacked: a day at the bench stays below. */
const LONGEST_BYTES = 2 ** 31
/** A torn file may end with the head of a part, of which nothing can be read, bytes. */
const TORN_HEAD_BYTES = 32

/** Throws RECORD_MISSING, RECORD_BROKEN where it was changed or is no course, SCHEMA_FORMAT_NEWER. A torn one is read up to the tear. */
export function readCourse(file: string): ReadCourse {
  let bytes: Buffer
  try {
    bytes = readFileSync(file)
  } catch (error) {
    throw new BenchError('RECORD_MISSING', file, said('record.cannot-be-opened'), error)
  }
  const lines = linesOf(unpacked(bytes, file))
  const head = headOf(lines[0] ?? '', file)
  return { head, ...comingsOf(lines, file) }
}

function unpacked(bytes: Buffer, file: string): Buffer {
  try {
    const { buffer, engine } = unpack(bytes)
    if (engine.bytesWritten < bytes.length - TORN_HEAD_BYTES)
      throw new BenchError('RECORD_BROKEN', file, noGzip(said('course.no-gzip', { byte: engine.bytesWritten })))
    return buffer
  } catch (error) {
    if (error instanceof BenchError) throw error
    throw new BenchError('RECORD_BROKEN', file, noGzip(wordsOf(error)), error)
  }
}

const noGzip = (why: Words) => said('course.unpacked-not', { why })

/** The types of Node say nothing of what `info` gives back beside the bytes. */
function unpack(bytes: Buffer): { readonly buffer: Buffer; readonly engine: { readonly bytesWritten: number } } {
  const unpacked: unknown = gunzipSync(bytes, {
    finishFlush: constants.Z_SYNC_FLUSH,
    maxOutputLength: LONGEST_BYTES,
    info: true,
  })
  if (!isUnpacked(unpacked)) throw new TypeError('gunzip gave nothing')
  return unpacked
}

function isUnpacked(
  value: unknown,
): value is { readonly buffer: Buffer; readonly engine: { readonly bytesWritten: number } } {
  return typeof value === 'object' && value !== null && 'buffer' in value && 'engine' in value
}

/** Whole lines; what stands behind the last line end is torn. */
function linesOf(text: Buffer): readonly string[] {
  const lines: string[] = []
  for (let from = 0; ; ) {
    const end = text.indexOf(10, from)
    if (end < 0) return lines
    lines.push(text.toString('utf8', from, end))
    from = end + 1
  }
}

function headOf(line: string, file: string): CourseHead {
  const json = jsonOf(line, 1, file)
  const known = typeof json === 'object' && json !== null && 'kind' in json && json.kind === 'head'
  if (!known) throw broken(file, said('course.broken-no-head', { line: 1 }))
  if ('format' in json && typeof json.format === 'number' && json.format > 1)
    throw new BenchError('SCHEMA_FORMAT_NEWER', file, said('course.format-newer', { format: json.format }))
  const head = parsed(CourseHead, json, 1, file)
  const files: readonly TextFile[] = [head.bench, ...head.drivers, ...head.procedures, ...head.plans, ...head.ruleCards]
  const changed = files.find((one) => sha256(one.text) !== one.sha256)
  if (changed) throw broken(file, said('course.broken-changed', { line: 1, file: changed.file }))
  return head
}

function comingsOf(lines: readonly string[], file: string): Omit<ReadCourse, 'head'> {
  const comings: Coming[] = []
  let did: DidLine[] = []
  comings.push({ came: null, did })
  let parts = 1
  let partFrom = 0
  let whole = true
  let ends: string | null = null
  for (let at = 1; at < lines.length; at += 1) {
    const line = parsed(CourseLine, jsonOf(lines[at] ?? '', at + 1, file), at + 1, file)
    if (ends !== null) throw broken(file, said('course.broken-past-end', { line: at + 1 }))
    if (line.kind === 'part') {
      const before = sha256(`${lines.slice(partFrom, at).join('\n')}\n`)
      if (parts === 1 && line.n > 1) whole = false
      else if (line.n !== parts || line.prev !== before)
        throw broken(file, said('course.broken-part', { line: at + 1, part: line.n }))
      parts = line.n + 1
      partFrom = at
    } else if (line.kind === 'end') ends = line.why
    else if (isCame(line)) {
      did = []
      comings.push({ came: line, did })
    } else did.push(line)
  }
  return { comings, whole, ends }
}

function jsonOf(text: string, at: number, file: string): unknown {
  try {
    return JSON.parse(text)
  } catch (error) {
    throw broken(file, said('course.broken-not-json', { line: at }), error)
  }
}

function parsed<T>(schema: Parameters<typeof parseAtDoor<T>>[0], json: unknown, at: number, file: string): T {
  try {
    return parseAtDoor(schema, json, file)
  } catch (error) {
    throw broken(file, said('course.broken-line', { line: at, why: happenedOf(error) }), error)
  }
}

function broken(file: string, happened: Said, cause?: unknown): BenchError {
  return new BenchError('RECORD_BROKEN', file, happened, cause)
}
