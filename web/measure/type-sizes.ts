import {
  arcMinutesOf,
  type DistanceM,
  EASY_ARC_MINUTES,
  heightMm,
  LEGIBLE_ARC_MINUTES,
  mmOf,
  USUAL_PX_PER_MM,
} from './arc-size.ts'

/** The screen of this device and the eye before it; lengths in CSS px. */
export interface ScreenFacts {
  readonly width: number
  readonly height: number
  /** Null before a set-up. */
  readonly pxPerMm: number | null
  readonly distanceM: DistanceM
}

/** Heights of capitals and digits on the gauge, CSS px, and the room between its rows. */
export interface TypeSizes {
  readonly mm: number
  readonly digit: number
  readonly name: number
  /** Side of a button. */
  readonly target: number
  /** The sentence, and the smaller line under it. */
  readonly guide: number
  readonly second: number
  /** Labels of slot and peg. */
  readonly label: number
  /** Where the adjuster is and what it should become. */
  readonly place: number
  /** The small line at the foot, and the small words on buttons. */
  readonly foot: number
  /** The foot leaves out what the units say: "15.60 V" without "at the plug". */
  readonly footShort: boolean
  readonly gap: number
}

/** Shares of the screen's height: no smaller; as it looks best; no larger. */
interface Range {
  readonly floor: number
  readonly usual: number
  readonly top: number
}

interface Form {
  /** Lines that the sentence and the smaller one under it may take. */
  readonly lines: { readonly guide: number; readonly second: number }
  readonly digitMm: number
  readonly digit: Range
  readonly nameMm: number
  readonly name: Range
  readonly target: number
  readonly guide: Range
  readonly second: Range
  readonly label: Range
  readonly place: Range
  readonly foot: Range
}

/** A laptop or a tablet: name and number each have a row of their own. */
const WIDE: Form = {
  lines: { guide: 1, second: 1 },
  digitMm: 30.8,
  digit: { floor: 0.12, usual: 0.147, top: 0.23 },
  nameMm: 20.4,
  name: { floor: 0.08, usual: 0.096, top: 0.15 },
  target: 0.17,
  guide: { floor: 0.034, usual: 0.0432, top: 0.062 },
  second: { floor: 0.02, usual: 0.0245, top: 0.042 },
  label: { floor: 0.02, usual: 0.027, top: 0.042 },
  place: { floor: 0.019, usual: 0.0225, top: 0.034 },
  foot: { floor: 0.015, usual: 0.0175, top: 0.036 },
}

/** A phone turned sideways: the name stands beside the number where both fit, and takes what is left. */
const LOW: Form = {
  lines: { guide: 1, second: 1 },
  digitMm: 18.4,
  digit: { floor: 0.16, usual: 0.179, top: 0.3 },
  nameMm: 20.4,
  name: { floor: 0.11, usual: 0.14, top: 0.2 },
  target: 0.315,
  guide: { floor: 0.048, usual: 0.066, top: 0.09 },
  second: { floor: 0.031, usual: 0.036, top: 0.05 },
  label: { floor: 0.031, usual: 0.038, top: 0.05 },
  place: { floor: 0.029, usual: 0.0315, top: 0.038 },
  foot: { floor: 0.026, usual: 0.029, top: 0.038 },
}

/** A phone held upright: as wide as the number needs, and high enough for sentences of two lines. */
const NARROW: Form = {
  lines: { guide: 2, second: 2 },
  digitMm: 18.4,
  digit: { floor: 0.07, usual: 0.085, top: 0.15 },
  nameMm: 20.4,
  name: { floor: 0.05, usual: 0.075, top: 0.095 },
  target: 0.146,
  guide: { floor: 0.021, usual: 0.029, top: 0.036 },
  second: { floor: 0.0145, usual: 0.0175, top: 0.024 },
  label: { floor: 0.0155, usual: 0.019, top: 0.027 },
  place: { floor: 0.0145, usual: 0.0165, top: 0.021 },
  foot: { floor: 0.0135, usual: 0.0155, top: 0.021 },
}

/** A small tablet held upright. */
const UPRIGHT: Form = {
  ...NARROW,
  digitMm: 30.8,
  digit: { floor: 0.1, usual: 0.118, top: 0.16 },
  name: { floor: 0.06, usual: 0.078, top: 0.11 },
  target: 0.11,
}

/** As in the style sheets: a screen wider than high and no higher than this is a phone turned sideways. */
export const LOW_UP_TO_PX = 560
/** As in the style sheets: one that is higher than wide and no wider than this shows everything under each other. */
export const UPRIGHT_UP_TO_PX = 820
/** No wider than this it is a phone. */
const PHONE_UP_TO_PX = 600

function formOf({ width, height }: ScreenFacts): Form {
  if (width > height) return height <= LOW_UP_TO_PX ? LOW : WIDE
  if (width > UPRIGHT_UP_TO_PX) return WIDE
  return width <= PHONE_UP_TO_PX ? NARROW : UPRIGHT
}

const TARGET_MM = 20.2
/** A capital is this share of the type size. */
export const CAPITAL = 0.72
/** Widths of the small line in its own type size: all of it, without what the units say, and without the age of a new reading too. */
const FOOT_EMS = { full: 43, short: 32.5, upright: 22.5 } as const

/** Everything stands under each other. */
function isUpright(form: Form): boolean {
  return form === NARROW || form === UPRIGHT
}

/** Sizes for a screen: what the distance asks for, as far as the screen has room. */
export function typeSizes(screen: ScreenFacts): TypeSizes {
  const { height } = screen
  const form = formOf(screen)
  const mm = screen.pxPerMm ?? USUAL_PX_PER_MM
  const need = (arcMinutes: number) => heightMm(screen.distanceM, arcMinutes) * mm
  const asked = (range: Range, px: number) => Math.min(range.top, Math.max(range.usual, px / height)) * height
  const legible = (range: Range) => asked(range, need(LEGIBLE_ARC_MINUTES))
  const digit = asked(form.digit, Math.max(form.digitMm * mm, need(EASY_ARC_MINUTES)))
  const name = asked(form.name, form.nameMm * mm)
  const target = Math.min(form.target * height, TARGET_MM * mm)
  const foot = footOf(screen, form, need(LEGIBLE_ARC_MINUTES))
  const place = legible(form.place)
  const room = screenRows(screen, form, { target, foot: foot.px, place }) - digit - headPx(form, name, place)
  const wish = {
    guide: asked(form.guide, need(EASY_ARC_MINUTES)),
    second: legible(form.second),
    label: legible(form.label),
    gap: height * GAPS[form === LOW ? 'low' : 'high'].usual,
  }
  const floor = {
    guide: form.guide.floor * height,
    second: form.second.floor * height,
    label: form.label.floor * height,
    gap: height * GAPS[form === LOW ? 'low' : 'high'].floor,
  }
  const share = shareThatFits(rowsOf(floor, form), rowsOf(wish, form), room)
  const between = (part: keyof typeof wish) => floor[part] + share * (wish[part] - floor[part])
  return {
    mm,
    digit,
    name,
    target,
    guide: between('guide'),
    second: between('second'),
    label: between('label'),
    place,
    foot: foot.px,
    footShort: foot.short,
    gap: between('gap'),
  }
}

/** Least height of a line of news, as in the style sheets. */
const NEWS_PX = 18.5
/** Shares of the screen's height between the rows of the gauge. */
const GAPS = { high: { floor: 0.013, usual: 0.03 }, low: { floor: 0.012, usual: 0.02 } } as const

/** Width of the frame round the screen and of the sheet's own border, as in the style sheets. */
function borders({ width, height }: ScreenFacts) {
  const least = Math.min(width, height)
  return { edge: clamp(0.046 * least, 15, 42), pad: clamp(0.022 * least, 8, 22) }
}

/** The foot is one line, as long as the sheet is wide. */
function footOf(screen: ScreenFacts, form: Form, needPx: number): { readonly px: number; readonly short: boolean } {
  const { edge, pad } = borders(screen)
  const { floor, usual, top } = form.foot
  const room = screen.width - 2 * edge - (form === LOW ? 176 : 3 * pad)
  const wish = Math.min(top, Math.max(usual, needPx / screen.height)) * screen.height
  const full = (room / FOOT_EMS.full) * CAPITAL
  if (wish <= full) return { px: wish, short: false }
  const short = (room / FOOT_EMS[isUpright(form) ? 'upright' : 'short']) * CAPITAL
  return { px: Math.max(floor * screen.height, Math.min(wish, short)), short: true }
}

/** Height that is left for name, number, gauge and words. */
function screenRows(
  screen: ScreenFacts,
  form: Form,
  { target, foot, place }: { target: number; foot: number; place: number },
): number {
  const { edge, pad } = borders(screen)
  const facts = lineOf(foot)
  if (form === LOW) return screen.height - edge - 24 - 14 - 12 - facts - 26
  const news = isUpright(form) ? 2 * Math.max(NEWS_PX, lineOf(place)) + 0.7 * pad : 0
  return screen.height - 2 * edge - 3.75 * pad - facts - target - news
}

/** Three digits, a point and a small unit, in the type size of the digits. */
const NUMBER_EMS = 2.5

/** How high digits can be for a short number to have room across the sheet. */
function widestDigitPx(screen: ScreenFacts): number {
  const { edge, pad } = borders(screen)
  return ((screen.width - 2 * edge - 3 * pad) / NUMBER_EMS) * CAPITAL
}

/** The row of the name; a phone turned sideways has it beside the number, an upright one two lines about it beneath. */
function headPx(form: Form, name: number, place: number): number {
  if (form === LOW) return lineOf(place)
  return isUpright(form) ? name + 2 * lineOf(place) + 8 : name
}

/** Height of a line of type with capitals of this height. */
function lineOf(capitalPx: number): number {
  return (capitalPx / CAPITAL) * 1.2
}

/** What gauge, sentence and gaps take: the slot is as deep as its labels need beside it. */
function rowsOf(sizes: { guide: number; second: number; label: number; gap: number }, form: Form): number {
  const gauge = (sizes.label / CAPITAL) * 4.2 + (form === LOW ? 14 : 24)
  return gauge + form.lines.guide * lineOf(sizes.guide) + form.lines.second * lineOf(sizes.second) + 3 * sizes.gap
}

function shareThatFits(atFloor: number, atWish: number, room: number): number {
  return clamp((room - atFloor) / (atWish - atFloor), 0, 1)
}

/** A part of the gauge that is smaller than it should be. */
export interface TooSmall {
  readonly part: 'number' | 'name' | 'guide' | 'second' | 'label' | 'place' | 'foot'
  /** Wanted in mm whatever the distance, or in arc-minutes at it. */
  readonly unit: 'mm' | 'arc-minutes'
  readonly is: number
  readonly wanted: number
}

const WORDS = [
  ['guide', EASY_ARC_MINUTES],
  ['second', LEGIBLE_ARC_MINUTES],
  ['label', LEGIBLE_ARC_MINUTES],
  ['place', LEGIBLE_ARC_MINUTES],
  ['foot', LEGIBLE_ARC_MINUTES],
] as const

/** What this screen cannot show large enough at this distance, the largest part first. */
export function tooSmall(screen: ScreenFacts): readonly TooSmall[] {
  const sizes = typeSizes(screen)
  const form = formOf(screen)
  const phone = form === LOW || form === NARROW
  const found: TooSmall[] = []
  const digitMm = mmOf(Math.min(sizes.digit, widestDigitPx(screen)), sizes.mm)
  const wantedMm = phone ? 18 : 30
  if (digitMm < wantedMm) found.push({ part: 'number', unit: 'mm', is: digitMm, wanted: wantedMm })
  const nameMm = mmOf(sizes.name, sizes.mm)
  if (!phone && nameMm < 20) found.push({ part: 'name', unit: 'mm', is: nameMm, wanted: 20 })
  for (const [part, wanted] of WORDS) {
    const is = arcMinutesOf(mmOf(sizes[part], sizes.mm), screen.distanceM)
    // half a minute of arc is nothing an eye could tell
    if (is < wanted - 0.5) found.push({ part, unit: 'arc-minutes', is, wanted })
  }
  return found
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value))
}
