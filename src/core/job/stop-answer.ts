/** What is answered to STOP: how the output stood when it came. */
export function stopAnswer(output: 'on' | 'off' | 'unknown' | undefined): string {
  if (output === 'off') return 'the supply was off already'
  return output === 'on' ? 'the supply was on, it is switched off' : 'the supply is switched off'
}
