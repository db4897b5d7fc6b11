import { type Said, said } from '../../words/said/said.ts'

/** What is answered to STOP: how the output stood when it came. */
export function stopAnswer(output: 'on' | 'off' | 'unknown' | undefined): Said {
  if (output === 'off') return said('answer.supply-was-off')
  return output === 'on' ? said('answer.supply-was-on') : said('answer.supply-is-switched-off')
}
