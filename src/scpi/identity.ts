/** Who an instrument says it is (IEEE 488.2, 10.14: four fields with commas between). Missing fields, and a 0 for none, are "". */
export interface Identity {
  readonly maker: string
  readonly model: string
  readonly serial: string
  readonly firmware: string
  /** The reply, unchanged. */
  readonly raw: string
}

/** Reads an identity reply. Never fails: fields too few are "", fields too many belong to the firmware, quotes round the whole are taken off. */
export function readIdentity(reply: string): Identity {
  const text = reply.trim().replace(/^"(.*)"$/s, '$1')
  const [maker = '', model = '', serial = '', ...firmware] = text.split(',').map((field) => field.trim())
  return { maker, model, serial: noneAsEmpty(serial), firmware: noneAsEmpty(firmware.join(',')), raw: reply }
}

/** Whether the instrument says that it is a simulated one: the word SIMULATED stands in its first field. */
export function isSimulated(identity: Identity): boolean {
  return /\bSIMULATED\b/i.test(identity.maker)
}

function noneAsEmpty(field: string): string {
  return field === '0' ? '' : field
}
