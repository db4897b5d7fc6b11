import type { LiveFrame } from '../../src/schema/messages/shown.ts'

/** What a technician does about a step that came out of band: a peak is looked for again, and where a caution says "peak again" the last peak before it is. */
export interface SecondTry {
  /** Takes note of the step that is open. */
  see(frame: LiveFrame): void
  /** The step to open again, "" where there is none; each result out of band is answered once. */
  due(frame: LiveFrame): string
  /** `due` was asked for. */
  asked(frame: LiveFrame): void
}

export function createSecondTry(): SecondTry {
  const peaks: string[] = []
  const blamedOn = new Map<string, string>()
  const answered = new Set<string>()

  const culprit = ({ steps }: LiveFrame) =>
    steps.find(
      ({ id, pass, state }) => pass === 'work' && state === 'out of band' && blamedOn.has(id) && !answered.has(id),
    )

  return {
    see: ({ step }) => {
      if (step?.pass !== 'work' || blamedOn.has(step.id)) return
      if (step.technique === 'peak') {
        peaks.push(step.id)
        blamedOn.set(step.id, step.id)
      }
      const last = peaks.at(-1)
      const cautions = [...step.cautions, ...step.cautionsSeen]
      if (last !== undefined && cautions.some((one) => /\bpeak again\b/i.test(one))) blamedOn.set(step.id, last)
    },
    due: (frame) => blamedOn.get(culprit(frame)?.id ?? '') ?? '',
    asked: (frame) => {
      const line = culprit(frame)
      if (line) answered.add(line.id)
    },
  }
}
