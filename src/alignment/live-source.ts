import type { Answer, FromPage, LiveFrame, ToPage } from '../schema/messages/live-frame.ts'
import type { Words } from '../words/said/said.ts'

export type { Answer } from '../schema/messages/live-frame.ts'

/** What the server shows and whom it asks: the running watch or job. The server decides nothing. */
export interface LiveSource {
  /** The newest frame, whole in itself. */
  latest(): LiveFrame
  /** Called with every frame the moment it is made. */
  onFrame(listener: (frame: LiveFrame) => void): () => void
  welcome(): Extract<ToPage, { kind: 'welcome' }>
  /** Does what the steering page asks, or refuses in words. Never rejects. */
  request(message: FromPage): Promise<Answer>
  /** The page that steers came, went, was hidden, or stopped answering. */
  steererPresent(present: boolean, why: Words): void
}
