import { type PlanStep, playPlan } from '../../web/sound/player.ts'

/** Loaded into a browser page by the sound tests: renders a plan offline and returns the samples as base64 of 32-bit floats. */
export async function renderPlan(plan: readonly PlanStep[], endS: number, rate: number): Promise<string> {
  const context = new OfflineAudioContext(1, Math.ceil(endS * rate), rate)
  playPlan(context, plan, endS)
  const rendered = await context.startRendering()
  const bytes = new Uint8Array(rendered.getChannelData(0).slice().buffer)
  let text = ''
  for (let at = 0; at < bytes.length; at += 8192) text += String.fromCharCode(...bytes.subarray(at, at + 8192))
  return btoa(text)
}
