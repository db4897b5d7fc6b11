/** Asked by whoever changes something: the page is painted with the browser's next frame. */
export interface Painter {
  queue(): void
}

/**
 * Paints at most once a screen frame, and then says which frame of the service stands on the screen: the event
 * `trimwright:painted` with its `seq`, for whoever measures the way from a reading to the peg.
 */
export function openPainter(paint: () => number | null): Painter {
  const after = new MessageChannel()
  let queued = false
  let paintedSeq: number | null = null
  after.port1.onmessage = ({ data }) =>
    document.dispatchEvent(new CustomEvent('trimwright:painted', { detail: { seq: data } }))
  return {
    queue() {
      if (queued) return
      queued = true
      requestAnimationFrame(() => {
        queued = false
        const seq = paint()
        if (seq === null || seq === paintedSeq) return
        paintedSeq = seq
        after.port2.postMessage(seq)
      })
    },
  }
}
