/** What is measured, as it stands in the middle of a sentence; and how words are joined. */
export const QUANTITIES = {
  'quantity.frequency': 'frequency',
  'quantity.rf-power': 'RF power',
  'quantity.fm-deviation': 'FM deviation',
  'quantity.am-depth': 'AM depth',
  'quantity.dc-voltage': 'DC voltage',
  'quantity.dc-current': 'DC current',
  'quantity.audio-level': 'audio level',
  'quantity.audio-distortion': 'audio distortion',
  'quantity.sinad': 'SINAD',
  'quantity.audio-tone': 'audio tone',
  'quantity.rf-level': 'RF level',
  'quantity.signal-meter': 'signal meter',
  /** On a button or alone. */
  'quantity.alone': '{^quantity}',

  'joined.comma': '{some}, {more}',
  'joined.semicolon': '{some}; {more}',
  /** Two whole sentences after each other. */
  'joined.sentences': '{some} {more}',
  /** Two sentences that come without a full stop. */
  'joined.stop': '{some}. {more}',
  'joined.colon': '{what}: {told}',
} as const
