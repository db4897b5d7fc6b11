/** Final fragment, text; and the lengths from which the header carries two or eight bytes more (RFC 6455, 5.2). */
const FINAL_TEXT = 0x81
const TWO_BYTES = 126
const EIGHT_BYTES = 127

/** A text as the bytes of one WebSocket frame from a server, unmasked: made once, they go to every page as they are. */
export function textFrame(text: string): Uint8Array {
  const length = Buffer.byteLength(text)
  const headBytes = length < TWO_BYTES ? 2 : length < 0x1_0000 ? 4 : 10
  const frame = Buffer.allocUnsafe(headBytes + length)
  frame[0] = FINAL_TEXT
  if (headBytes === 2) frame[1] = length
  else if (headBytes === 4) {
    frame[1] = TWO_BYTES
    frame.writeUInt16BE(length, 2)
  } else {
    frame[1] = EIGHT_BYTES
    frame.writeBigUInt64BE(BigInt(length), 2)
  }
  frame.write(text, headBytes)
  return frame
}
