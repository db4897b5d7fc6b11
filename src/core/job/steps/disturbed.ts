import { joined } from '../../../words/said/lists.ts'
import { said } from '../../../words/said/said.ts'
import type { JobPlan } from '../../plan/lines.ts'
import { type Line, turnsSomething } from '../../plan/lines.ts'
import { change, setResult, type Turn, tell } from '../state/turn.ts'

/** What the adjusters of this step move too is read again, once for each until a person opens the step again; and whatever was read as left already. */
export function reopenDisturbed(before: Turn): Turn {
  const { plan, at, reopened, results } = before.job
  const line = plan.lines[at]
  if (!line || !turnsSomething(line)) return before
  const isOver = (index: number) => results[index]?.state === 'done' || results[index]?.state === 'out of band'
  const again = plan.lines.flatMap(({ pass, step }, index) => {
    if (index === at || !isOver(index) || pass === 'found') return []
    const fresh = pass === 'left' ? [] : disturbing(plan, line, step.id).filter((pair) => !reopened.includes(pair))
    return pass === 'left' || fresh.length > 0 ? [{ index, title: step.title, fresh }] : []
  })
  const opened = again.reduce((so, { index }) => setResult(so, index, 'to do'), before)
  const marked = change(opened, { reopened: [...reopened, ...again.flatMap(({ fresh }) => fresh)] })
  if (again.length === 0) return marked
  const steps = joined(
    again.map(({ title }) => title),
    'list.semicolon',
  )
  return tell(marked, 'note', said('job.moved-too', { adjusters: joined(line.step.adjust, 'list.and'), steps }))
}

/** Which adjusters of a line move the reading of another step, each as "adjuster step". */
function disturbing({ procedure }: JobPlan, { step }: Line, other: string): readonly string[] {
  const moving = step.adjust.filter((name) => procedure.adjusters[name]?.disturbs?.includes(other))
  return moving.map((name) => `${name} ${other}`)
}

/** What the adjusters of this line move too may be opened once again. */
export function forgetDisturbed(before: Turn, at: number): Turn {
  const { plan, reopened } = before.job
  const adjust = plan.lines[at]?.step.adjust ?? []
  return change(before, {
    reopened: reopened.filter((pair) => !adjust.some((name) => pair.startsWith(`${name} `))),
  })
}
