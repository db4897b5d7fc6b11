import type { DriverFile, DriverLink } from '../schema/files/driver-file.ts'
import type { LinkManners } from '../transport/link.ts'
import type { LinkKind } from '../transport/port/opener.ts'

/** How the driver wants a link of this kind: a serial line takes longer pauses than a network socket. */
export function mannersOf(driver: DriverFile, link: DriverLink, kind: LinkKind): LinkManners {
  return {
    sendEnd: link.sendEnd,
    replyEnd: link.replyEnd,
    ...link[kind.pauses],
    longestMessage: link.longestMessage,
    resync: link.resync,
    identityAsk: driver.identify?.ask ?? null,
    clear: link.clear,
  }
}
