import type { RequestKind } from '../schema/messages/live-frame.ts'
import type { Words } from '../words/said/said.ts'

/** A page that says nothing for this long is taken to be away, ms. */
export const SILENT_AFTER_MS = 5_000
/** A page that steers and that nobody has been able to see for this long does not keep another from steering, ms. */
export const UNSEEN_AFTER_MS = 10_000

/** What a page that only watches may ask for. Anybody who sees something wrong may switch the supply off. */
export const FOR_EVERY_PAGE: readonly RequestKind[] = ['here', 'steer', 'stop']

/** A page that is connected, by its number. */
interface PageHere {
  readonly page: number
  readonly visible: boolean
  readonly heardMs: number
  /** When it was last heard and on a screen. */
  readonly seenMs: number
}

/** Who steers, who waits to, and who is there at all. One page steers, the others watch. */
export interface Steering {
  readonly steers: number | null
  /** Pages that asked to steer, first come first. */
  readonly askers: readonly number[]
  readonly pages: readonly PageHere[]
}

export type SteeringEvent =
  | { readonly what: 'came'; readonly page: number; readonly atMs: number }
  | { readonly what: 'went'; readonly page: number }
  | { readonly what: 'here'; readonly page: number; readonly visible: boolean; readonly atMs: number }
  | { readonly what: 'asks to steer'; readonly page: number; readonly atMs: number }
  | { readonly what: 'hands over'; readonly page: number }
  | { readonly what: 'time passes'; readonly atMs: number }

/** The state after an event, and what the page that caused it is told. */
export interface Steered {
  readonly after: Steering
  readonly ok: boolean
  readonly words: Words
}

export interface Role {
  readonly steering: 'you' | 'another' | 'nobody'
  /** For the page that steers: somebody waits for it. For another: it waits itself. */
  readonly asked: boolean
}

export const NOBODY_STEERS: Steering = { steers: null, askers: [], pages: [] }

/** One event further. Nobody takes over from a page at which somebody can be unless that page hands over. */
export function steer(before: Steering, event: SteeringEvent): Steered {
  switch (event.what) {
    case 'came': {
      const pages = [...before.pages, { page: event.page, visible: true, heardMs: event.atMs, seenMs: event.atMs }]
      return done({ ...before, pages, steers: before.steers ?? event.page })
    }
    case 'went':
      return done(without(before, event.page))
    case 'here': {
      const heard = (page: PageHere): PageHere => ({
        ...page,
        visible: event.visible,
        heardMs: event.atMs,
        seenMs: event.visible ? event.atMs : page.seenMs,
      })
      return done({ ...before, pages: before.pages.map((page) => (page.page === event.page ? heard(page) : page)) })
    }
    case 'asks to steer':
      return ask(before, event.page, event.atMs)
    case 'time passes':
      return done(relieved(before, event.atMs))
    case 'hands over':
      return handOver(before, event.page)
    default:
      return event satisfies never
  }
}

/** When the page that steers goes, whoever had asked must ask again: nobody left has agreed to it. */
function without(before: Steering, gone: number): Steering {
  const pages = before.pages.filter((page) => page.page !== gone)
  if (before.steers === gone) return { steers: null, askers: [], pages }
  return { ...before, pages, askers: before.askers.filter((page) => page !== gone) }
}

/** Who asked first steers, once nobody can have been at the steering page for a while: hidden or silent, it cannot agree, and nobody there can object. */
function relieved(before: Steering, nowMs: number): Steering {
  const [next, ...askers] = before.askers
  const steering = before.pages.find((page) => page.page === before.steers)
  if (next === undefined || steering === undefined || nowMs - steering.seenMs <= UNSEEN_AFTER_MS) return before
  return { ...before, steers: next, askers }
}

function ask(before: Steering, page: number, atMs: number): Steered {
  if (before.steers === page) return { after: before, ok: true, words: 'This page steers already.' }
  if (before.steers === null) {
    const askers = before.askers.filter((asker) => asker !== page)
    return { after: { ...before, steers: page, askers }, ok: true, words: 'This page steers now.' }
  }
  const askers = before.askers.includes(page) ? before.askers : [...before.askers, page]
  const after = relieved({ ...before, askers }, atMs)
  if (after.steers === page) return { after, ok: true, words: 'This page steers now: nobody is at the other one.' }
  return { after, ok: true, words: 'Asked. The page that steers has to hand over.' }
}

function handOver(before: Steering, page: number): Steered {
  if (before.steers !== page) return { after: before, ok: false, words: 'this page does not steer' }
  const [next, ...askers] = before.askers
  if (next === undefined) return { after: before, ok: false, words: 'no other page has asked to steer' }
  return { after: { ...before, steers: next, askers }, ok: true, words: 'Handed over. This page watches now.' }
}

function done(after: Steering): Steered {
  return { after, ok: true, words: '' }
}

/** What a page is told about its part. */
export function roleOf(state: Steering, page: number): Role {
  if (state.steers === page) return { steering: 'you', asked: state.askers.length > 0 }
  return { steering: state.steers === null ? 'nobody' : 'another', asked: state.askers.includes(page) }
}

/** Whether somebody can be expected to look at the page that steers, and if not, why not. */
export function presence(state: Steering, nowMs: number): { readonly present: boolean; readonly why: Words } {
  const page = state.pages.find((here) => here.page === state.steers)
  if (!page) return { present: false, why: 'the page that steers is gone' }
  if (!page.visible) return { present: false, why: 'the page that steers is hidden' }
  if (nowMs - page.heardMs > SILENT_AFTER_MS)
    return { present: false, why: `the page that steers has said nothing for ${SILENT_AFTER_MS / 1000} s` }
  return { present: true, why: 'the page that steers is here' }
}
