/** What values of a radio say when they are held against each other, how it grows warm, and how a value is accepted. */
export const RADIO = {
  'radio.control-not-rising':
    'the control voltage does not rise with the channel: {low} on {lowChannel}, {high} on {highChannel}. Unlocked at one end?',
  'radio.crystal-apart':
    'transmit is {transmit}, receive {receive}, and both come from one crystal: counter, generator, or a filter off centre?',
  'radio.current-high': 'the current says about {implied}, the meter {shown}: path loss, relay or meter?',
  'radio.current-low':
    'the current says about {implied}, the meter {shown}: path loss typed too large, or one of the meters?',
  'radio.no-reserve':
    '{high} falls to {low} with the supply, as if nothing held it: no reserve, or the power loop is open?',
  'radio.ppm-high': '{ppm} high',
  'radio.ppm-low': '{ppm} low',
  'radio.ppm-right': 'right',
  'radio.residual-off': '{left}: {shown} shown, residual {residual} taken off in quadrature',

  // both peaks of a deviation
  'peaks.alike': 'the larger peak is {larger} {side}, the other {smaller}: alike',
  'peaks.down': 'down',
  'peaks.less': 'the larger peak is {larger} {side}, the other {smaller}: {less} less',
  'peaks.one-sided':
    'the larger peak is {larger} {side}, the other {smaller}: {less} less. One side clips early: never set by the smaller',
  'peaks.up': 'up',

  // a limiter, by two levels of one tone and over the tones
  'limiter.holds': 'limiter holds: {from} to {to} for {more} more tone, {most} at most',
  'limiter.not-reached':
    'still rises, {from} to {to} for {more} more tone: the limiter is not reached yet, raise the tone further',
  'limiter.not-shown': 'two levels of one tone, 20 dB apart, show whether the limiter works',
  'limiter.rises-with-level':
    'rises with level, {from} to {to} for {more} more tone: limiter defeated. Restore it, do not set lower',
  'limiter.rises-with-tone': 'rises with the tone, {most} at {tone}, above {limit}: it passes by the limiter',
  'limiter.set-too-high': 'limiter holds, but at {most} at {tone}, above {limit}: set it lower',

  // a modulation meter held against a carrier null
  'null.another':
    'At {tone} the {which} carrier null is {true} deviation, the meter shows {shown}: is it the {other} null?',
  'null.fifth': 'fifth',
  'null.first': 'first',
  'null.fourth': 'fourth',
  'null.right': 'it is right',
  'null.said': 'At {tone} the {which} carrier null is {true} deviation, the meter shows {shown}: {error}',
  'null.said-with-depth':
    'At {tone} the {which} carrier null is {true} deviation, the meter shows {shown}: {error}; a null {depth} deep is right to {doubt}',
  'null.second': 'second',
  'null.th': '{number}th',
  'null.third': 'third',
  'null.too-little': '{by} too little',
  'null.too-much': '{by} too much',

  // a set that grows warm
  'warm.end-at': 'drift now {drift}, expected to end at {end} {doubt}, {ready}',
  'warm.end-by': 'drift now {drift}, expected to move another {move} {doubt}, {ready}',
  'warm.ready-in': 'ready in {time}',
  'warm.ready-in-less': 'ready in less than {time}',
  'warm.ready-in-more': 'ready in more than {time}',
  'warm.too-early': 'too early to say: {samples} samples, needs {least} over {minutes}',
  'warm.too-early-one': 'too early to say: 1 sample, needs {least} over {minutes}',
  'warm.warm': 'warm',

  // the clock of the computer
  'clock.set-back':
    'The clock of this computer was set back by {span}, to {wall}: times before this come from the clock as it stood.',
  'clock.set-forward':
    'The clock of this computer was set forward by {span}, to {wall}: times before this come from the clock as it stood.',
  'clock.slept': 'The computer slept or stood still for {span}; since then its clock says {wall}.',

  // what a person types
  'typed.decade-off': '{text}? Or {meant}? Ten times off is mostly a misplaced point. Say yes to keep it',

  // how values are accepted
  'rule.four-answers':
    'Four answers: in and clear, in but touching, out but touching, out and clear; touching means that the doubt reaches over the edge.',
  'rule.guarded':
    'A pass only where the value is inside the band by at least its doubt: at the edge of what passes, at most about 1 in 40 is outside.',
  'rule.simple': 'In the band is a pass, edges included; the doubt is stated beside it and may reach beyond the edge.',
} as const
