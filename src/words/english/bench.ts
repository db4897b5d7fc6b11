/** What keeps generator and transmitter apart, at the bench. */
export const BENCH = {
  'generator.not-proved': 'the RF of "{generator}" is not proved off, so nothing is keyed: {why}',
  'generator.keyed-into':
    'the radio was keyed ({seen}) while the generator {which}: RF and supply are switched off. Release the key, and look at generator and pad before you go on',
  'generator.was-on': '"{generator}" was on',
  'generator.silent': '"{generator}" did not answer, which counts as on',
  'generator.by-hand': '"{generator}" is not proved off ({fault}): switch its RF off by hand. It was so: {why}',
  'generator.amps': '{amps} from the supply',
  'generator.watts': '{watts} of RF',
  'generator.busy': 'the supply is just being set for a step',
  'generator.unseen': 'the supply does not answer: whether the radio is keyed cannot be seen',
  'generator.keyed': 'the radio is keyed ({seen})',
  'generator.transmit': 'the supply is set for transmit: the radio may be keyed at any moment',
} as const
