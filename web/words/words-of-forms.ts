import { text } from './text.ts'

/** The first screen and the start of a job. */
export const FORM = {
  watchTitle: text('form.watch-title'),
  watchLead: text('form.watch-lead'),
  quantity: text('form.quantity'),
  target: text('form.target'),
  watch: text('form.watch'),
  maximum: text('form.maximum'),
  minimum: text('form.minimum'),
  jobTitle: text('form.job-title'),
  jobLead: text('form.job-lead'),
  startJob: text('form.start-job'),
  supplyTitle: text('form.supply-title'),
  supplyOn: text('form.supply-on'),
  supplyOnWithLoad: text('form.supply-on-with-load'),
  procedure: text('form.procedure'),
  serial: text('form.serial'),
  serialSimulated: text('form.serial-simulated'),
  serialMissing: text('form.serial-missing'),
  bands: text('form.bands'),
  bandAsk: text('form.band-ask'),
  begin: text('form.begin'),
  serialAgain: text('form.serial-again'),
  serialAgainMissing: text('form.serial-again-missing'),
  rules: text('form.rules'),
  noRules: text('form.no-rules'),
  noRulesAllows: text('form.no-rules-allows'),
  complaint: text('form.complaint'),
  found: text('form.found'),
  foundAnew: text('form.found-anew'),
  foundStands: text('form.found-stands'),
  openJob: text('form.open-job'),
  reopen: text('form.reopen'),
  back: text('form.back'),
  backToGauge: text('form.back-to-gauge'),
  nothingMeasures: text('form.nothing-measures'),
  noProcedures: text('form.no-procedures'),
  wrongFile: text('form.wrong-file'),
  waiting: text('form.waiting'),
  keysRest: text('form.keys-rest'),
  setPage: text('form.set-page'),
} as const

/** What the supply comes on with. */
export function supplyLead(sheet: string): string {
  return text('form.supply-lead', { sheet })
}

const NOT_MEASURED = { is: 'not measured', words: text('intake.not-measured') } as const

/** What is found on a set before it is switched on. */
export const INTAKE = {
  title: text('intake.title'),
  chassis: text('intake.chassis'),
  chassisAnswers: [
    { is: 'to supply minus', words: '0 \u03a9', means: text('intake.joined') },
    { is: 'floating', words: text('intake.open'), means: text('intake.floats') },
    { ...NOT_MEASURED, means: text('intake.as-floating') },
  ],
  speaker: text('intake.speaker'),
  speakerAnswers: [
    { is: 'one side to chassis', words: text('intake.one-is-nothing'), means: text('intake.one-side') },
    { is: 'bridged', words: text('intake.both-open'), means: text('intake.bridged') },
    { ...NOT_MEASURED, means: text('intake.as-bridged') },
  ],
  tampered: text('intake.tampered'),
  missing: text('intake.missing'),
} as const

/** The list of steps. */
export const STEPS = {
  title: text('steps.title'),
  back: text('form.back-to-gauge'),
  closeJob: text('ask.close-job'),
  open: text('steps.open'),
  openAgain: text('steps.open-again'),
  leaveOut: text('steps.leave-out'),
  reason: text('steps.reason'),
  reasonShort: text('steps.reason-short'),
  keep: text('steps.keep'),
} as const

/** The field for a meter that a person reads. */
export const TYPING = {
  keep: text('typing.keep'),
  keysRest: text('typing.keys-rest'),
} as const

/** The list of the set's own settings. */
export const SETTING_LIST = {
  title: { found: text('setting-list.found-title'), left: text('setting-list.left-title') },
  name: text('setting-list.name'),
  found: text('setting-list.found'),
  job: text('setting-list.job'),
  left: text('setting-list.left'),
  reason: text('setting-list.reason'),
  empty: text('setting-list.empty'),
} as const

/** The tables at the end. */
export const TABLE = {
  title: text('table.title'),
  row: text('table.row'),
  what: text('table.what'),
  at: text('table.at'),
  value: text('table.value'),
  band: text('table.band'),
  verdict: text('table.verdict'),
  how: text('table.how'),
  earlier: text('table.earlier'),
  pairs: text('table.pairs'),
  found: text('table.found'),
  left: text('table.left'),
  change: text('table.change'),
  notRead: text('table.not-read'),
  leftOut: text('table.left-out'),
} as const
