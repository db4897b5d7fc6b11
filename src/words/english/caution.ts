/** What can hurt somebody, break the law or break the radio: shown whoever wrote the procedure. Common practice of the trade, no single source. */
export const CAUTION = {
  'caution.load':
    'Load and attenuator on the aerial socket, rated for the carrier, for as long as it is keyed. Never an aerial.',
  'caution.load-question': 'Load and attenuator on the aerial socket, rated for the carrier, their leads screwed tight',
  'caution.hot': 'Final stage, heatsink and load are hot after keying.',
  'caution.hot-cover': 'Let the final stage and the heatsink cool before the cover goes on. They are hot after keying.',
  'caution.burns': 'Do not touch coils or RF points while the key is down: RF burns.',
  'caution.law':
    'Local rules and the licence decide what may be opened, altered and keyed. This is work for licensed practice.',
  'caution.stop': "STOP on this page is no emergency stop. Keep the supply's own switch in reach.",
  'caution.floating-aerial':
    "The chassis floats: measure with the radio off whether the aerial socket's screen is joined to supply minus; where it is not, only a load and meters that are not earthed may go on it.",
  'caution.lithium-pack':
    'Lithium pack: take it out before the radio is opened. Do not charge, short or pierce it on this bench.',
  'caution.battery-eliminator':
    'Battery eliminator: measure its polarity with a voltmeter before it goes into the radio.',
  'caution.beryllium-oxide':
    'RF power parts of this radio may hold beryllium oxide, its dust is toxic. Do not break, file, sand or drill them.',
  'caution.mains-inside':
    'Mains voltage inside: it can kill. Only for people trained for it, on an isolating transformer, with one hand. This program does not switch the mains.',
  'caution.headphones': 'Take headphones off, or turn them down, before tones and squelch: full audio harms hearing.',
  'caution.distress-functions':
    'Distress functions: cover the distress control, work into a screened load, never on the distress channels. An alert that was sent is told to the rescue service at once.',
} as const
