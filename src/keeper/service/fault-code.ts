import { FAULTS, type FaultCode } from '../../fault/faults.ts'

/** The code as the registry has it; KEEPER_REFUSED for one that another version of the keeper may send. */
export function faultCodeOf(code: string): FaultCode {
  return isFault(code) ? code : 'KEEPER_REFUSED'
}

function isFault(code: string): code is FaultCode {
  return code in FAULTS
}
