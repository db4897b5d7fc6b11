import type { Hazard } from '../../schema/files/hazard.ts'
import type { Procedure } from '../../schema/files/procedure-file.ts'
import { said, type Words } from '../../words/said/said.ts'

/** What is dangerous about this kind of radio, as its procedure names it under `hazards`. */
const OF_KIND: Readonly<Record<Hazard, Words>> = {
  'lithium pack': said('caution.lithium-pack'),
  'battery eliminator': said('caution.battery-eliminator'),
  'beryllium oxide': said('caution.beryllium-oxide'),
  'mains inside': said('caution.mains-inside'),
  headphones: said('caution.headphones'),
  'distress functions': said('caution.distress-functions'),
}

const LAW_AND_STOP: readonly Words[] = [said('caution.law'), said('caution.stop')]
const KEYING: readonly Words[] = [said('caution.load'), said('caution.burns'), said('caution.hot')]
const FLOATING: readonly Words[] = [...KEYING, said('caution.floating-aerial')]

/** Before a job begins, whoever wrote the procedure. `keys`: some step of it is keyed. */
export function cautionsOfJob({ hazards }: Pick<Procedure, 'hazards'>, keys: boolean): readonly Words[] {
  return [...hazards.map((hazard) => OF_KIND[hazard]), ...(keys ? LAW_AND_STOP : [])]
}

/** Before a step that is keyed. `floats`: the chassis is, or is treated as, joined to no side of the supply. */
export function cautionsOfKeying(floats: boolean): readonly Words[] {
  return floats ? FLOATING : KEYING
}

/** Before the radio is closed again. */
export const CAUTION_OF_COVER: Words = said('caution.hot-cover')

/** While a radio is only watched with the supply on: it may be keyed at any moment. */
export function cautionsOfWatching({ hazards, set }: Pick<Procedure, 'hazards' | 'set'>): readonly Words[] {
  return [...cautionsOfJob({ hazards }, true), ...cautionsOfKeying(set.chassis === 'floating')]
}

/** Asked before the first key-down of a job, where its procedure does not ask by itself. */
export const LOAD_QUESTION: Words = said('caution.load-question')
