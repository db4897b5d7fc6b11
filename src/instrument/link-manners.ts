import type { DriverFile, DriverLink } from '../schema/files/driver-file.ts'
import type { LinkManners } from '../transport/link.ts'

/** How the driver wants its link at this address: a serial line takes longer pauses than a network socket. */
export function mannersOf(driver: DriverFile, link: DriverLink, address: string): LinkManners {
  const pauses = address.startsWith('serial:') ? link.onSerial : link.onNetwork
  return {
    sendEnd: link.sendEnd,
    replyEnd: link.replyEnd,
    ...pauses,
    longestMessage: link.longestMessage,
    resync: link.resync,
    identityAsk: driver.identify?.ask ?? null,
    clear: link.clear,
  }
}
