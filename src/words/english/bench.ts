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

  'desk.closed-no-record': 'the job is closed, but no record was made: {why}',
  'desk.not-switched-on': '{why}: the supply is not switched on',
  'desk.no-driver': 'there is no {file}',
  'desk.driver-wrong': '{file} is wrong: {why}',
} as const
