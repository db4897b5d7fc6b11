import { readFileSync } from 'node:fs'
import { z } from 'zod'

const input = z.object({
  x: z.number(),
  u: z.number().optional(),
  half_width_uniform: z.number().optional(),
  half_width_arcsine: z.number().optional(),
  dof: z.number().optional(),
})
const number = z.number()

const Published = z.object({
  GUM_H1: z.object({
    inputs_nm: z.record(z.string(), input),
    components_nm: z.record(z.string(), number),
    u_c_nm: number,
    nu_eff: number,
    t99_16: number,
    U99_nm_unrounded: number,
  }),
  JCGM106: z.object({ vectors: z.array(z.record(z.string(), z.union([z.string(), number]))) }),
  mismatch: z.object({ vectors: z.array(z.record(z.string(), z.union([z.string(), number]))) }),
})

/** Published uncertainty examples, with the mark of each, from tests/reference/uncertainty.json. */
export const published = Published.parse(
  JSON.parse(readFileSync(new URL('../../reference/uncertainty.json', import.meta.url), 'utf8')),
)

/** The vector whose name begins so; its numbers only. */
export function vectorOf(name: string): Readonly<Record<string, number>> {
  const found = published.JCGM106.vectors.find((one) => String(one.name).startsWith(name))
  if (!found) throw new TypeError(`no published vector ${name}`)
  return Object.fromEntries(
    Object.entries(found).flatMap(([key, value]) => (typeof value === 'number' ? [[key, value]] : [])),
  )
}
