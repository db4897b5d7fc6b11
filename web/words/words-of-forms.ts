/** The first screen and the start of a job. */
export const FORM = {
  watchTitle: 'Just watch',
  watchLead: 'Pick a reading, say what it should be, turn. Nothing is kept, and the supply stays as it is.',
  quantity: 'What',
  target: 'What it should be',
  watch: 'Watch',
  maximum: 'maximum',
  minimum: 'minimum',
  jobTitle: 'A whole set',
  jobLead: 'Step by step through its alignment sheet. What is captured is kept, earlier values too.',
  startJob: 'Start a job',
  supplyTitle: 'The supply is off',
  supplyLead: 'At the normal voltage, trip and limit of this sheet:',
  supplyOn: 'Supply on',
  procedure: 'Sheet',
  serial: 'Serial number of the set',
  serialSimulated: 'Serial number (may stay empty: simulated)',
  serialMissing: 'Write the serial number of the set first.',
  bands: 'Bands in use',
  bandAsk: 'only where it is allowed',
  begin: 'Begin',
  serialAgain: 'The same serial, read off the set again',
  serialAgainMissing: 'Write the serial number a second time: look at the set, not at the field above.',
  rules: 'Rule card',
  noRules: 'No rule card',
  noRulesAllows: 'only the targets of the sheet itself, and no AM',
  complaint: 'What the customer complains of, as told',
  found: 'As found',
  foundAnew: 'Read anew',
  foundStands: 'Stands as it was read in',
  openJob: 'Not closed yet',
  reopen: 'Open where it stood',
  back: 'Back',
  backToGauge: 'Back to the gauge',
  nothingMeasures: 'Nothing on this bench measures yet: look at its file and cables.',
  noProcedures: 'No alignment sheet is at hand.',
  wrongFile: 'Not offered, since the file is wrong:',
  waiting: 'Waiting for the bench.',
  keysRest: 'Foot switch and keys rest while you type.',
  setPage: 'The simulated set is on its own page',
} as const

/** What is found on a set before it is switched on. */
export const INTAKE = {
  title: 'Before it is switched on',
  chassis: 'Chassis against supply minus, with the ohmmeter',
  chassisAnswers: [
    { is: 'to supply minus', words: '0 \u03a9', means: 'joined to supply minus' },
    { is: 'floating', words: 'open', means: 'it floats: no common on the case, not to earth' },
    { is: 'not measured', words: 'not measured', means: 'treated as floating' },
  ],
  speaker: 'Speaker leads against the chassis',
  speakerAnswers: [
    { is: 'one side to chassis', words: 'one is 0 \u03a9', means: 'one side to chassis' },
    { is: 'bridged', words: 'both open', means: 'bridged output: neither lead to earth' },
    { is: 'not measured', words: 'not measured', means: 'treated as bridged' },
  ],
  tampered: 'Signs of earlier work: wax, slots, bridges, wires (empty: none seen)',
  missing: 'Measure chassis and speaker leads with the power off and answer both; "not measured" is an answer too.',
} as const

/** The list of steps. */
export const STEPS = {
  title: 'Steps',
  back: 'Back to the gauge',
  closeJob: 'Close the job',
  open: 'Open',
  openAgain: 'Open again',
  leaveOut: 'Leave out',
  reason: 'Reason for leaving it out',
  reasonShort: 'Say why, in at least three letters.',
  keep: 'Keep it in',
} as const

/** The field for a meter that a person reads. */
export const TYPING = {
  keep: 'Keep',
  keysRest: 'Foot switch rests; End stops.',
} as const

/** The list of the set's own settings. */
export const SETTING_LIST = {
  title: { found: 'Settings of the set, as found', left: 'Settings of the set, as left' },
  name: 'setting',
  found: 'found',
  job: 'for this job',
  left: 'left',
  reason: 'Left other than found, because',
  empty: 'not written',
} as const

/** The tables at the end. */
export const TABLE = {
  title: 'What was captured',
  row: 'sheet',
  what: 'step',
  at: 'at',
  value: 'value',
  band: 'band',
  verdict: 'verdict',
  how: 'how',
  earlier: 'earlier reading, kept',
  pairs: 'As found and as left',
  found: 'as found',
  left: 'as left',
  change: 'change',
  notRead: 'not read',
  leftOut: 'Left out',
} as const
