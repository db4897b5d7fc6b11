/**
 * Stands before the gauge page's own script and says, as `window.soundProbe`, in which sample of the sound output each
 * change of the standing tones took effect that the page ordered. Each is ordered a second time for the same moment of the
 * context, as a step of a marker that nobody hears; the audio thread takes both in alike, and the probe sees the step.
 */
;(() => {
  const wallMs = (pageMs) => performance.timeOrigin + pageMs
  /** The frame of the service whose message the page is working on. */
  let seq = null
  let number = 0
  /** mark -> the order: whose frame it belonged to, and for when it was meant, context seconds. */
  const orders = new Map()
  /** mark, and when its sample left the context for the output, ms since 1970. */
  const marks = []
  /** Sound that began after silence, and the newest mark then, context frames. */
  const begins = []
  let latency = null

  const listen = EventTarget.prototype.addEventListener
  WebSocket.prototype.addEventListener = function (type, listener, options) {
    const wrapped = (event) => {
      seq = Number(/^\{"kind":"frame","format":1,"seq":(\d+),/.exec(event.data)?.[1] ?? Number.NaN)
      try {
        listener.call(this, event)
      } finally {
        seq = null
      }
    }
    listen.call(this, type, type === 'message' ? wrapped : listener, options)
  }

  const connect = AudioNode.prototype.connect
  const Context = window.AudioContext
  const probes = new Map()

  const open = async (context) => {
    const probe = { mark: null, input: new GainNode(context) }
    probes.set(context, probe)
    await context.audioWorklet.addModule(`data:text/javascript,${encodeURIComponent(window.soundProbeWorklet)}`)
    const node = new AudioWorkletNode(context, 'sound-probe', { numberOfInputs: 2 })
    const marker = new ConstantSourceNode(context, { offset: 0 })
    connect.call(probe.input, node, 0, 0)
    connect.call(marker, node, 0, 1)
    connect.call(node, context.destination)
    marker.start()
    let newestFrame = 0
    node.port.onmessage = ({ data }) => {
      const { contextTime, performanceTime } = context.getOutputTimestamp()
      latency = { baseMs: context.baseLatency * 1000, outputMs: context.outputLatency * 1000 }
      if (data.began !== undefined) begins.push({ frame: data.began, markFrame: newestFrame })
      else {
        newestFrame = data.frame
        const atMs = wallMs(performanceTime + (data.frame / context.sampleRate - contextTime) * 1000)
        marks.push({
          ...orders.get(data.mark),
          atMs,
          lateS: data.frame / context.sampleRate - orders.get(data.mark).atS,
        })
      }
    }
    probe.mark = (order) => {
      number += 1
      orders.set(number, order)
      setValue.call(marker.offset, number, order.atS)
    }
  }

  window.AudioContext = class extends Context {
    constructor(options) {
      super(options)
      void open(this)
    }
  }
  AudioNode.prototype.connect = function (target, ...rest) {
    const probe = target instanceof AudioDestinationNode ? probes.get(this.context) : undefined
    if (probe !== undefined) connect.call(this, probe.input)
    return connect.call(this, target, ...rest)
  }

  const setValue = AudioParam.prototype.setValueAtTime
  const glide = AudioParam.prototype.setTargetAtTime
  /** What one piece of the page's work ordered for the earliest moment; marked when that piece is done. */
  let ordered = null
  AudioParam.prototype.setTargetAtTime = function (value, atS, constantS) {
    if (ordered === null) {
      ordered = { seq, atS }
      queueMicrotask(() => {
        for (const { mark } of probes.values()) mark?.(ordered)
        ordered = null
      })
    } else ordered.atS = Math.min(ordered.atS, atS)
    return glide.call(this, value, atS, constantS)
  }

  window.soundProbe = { marks, begins, latency: () => latency }
})()
