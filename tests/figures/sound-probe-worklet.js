/**
 * Hears what the page plays (input 0) and its marker (input 1) sample by sample, and says in which sample of the context
 * the marker stepped, and in which sound began after a tenth of a second of nothing.
 */
class SoundProbe extends AudioWorkletProcessor {
  marked = 0
  silentFrames = 0

  process([played = [], [marker] = []]) {
    for (let at = 0; at < (marker?.length ?? 0); at += 1) {
      if (marker[at] === this.marked) continue
      this.marked = marker[at]
      this.port.postMessage({ mark: this.marked, frame: currentFrame + at })
    }
    const length = played[0]?.length ?? 128
    for (let at = 0; at < length; at += 1) {
      if (played.every((channel) => channel[at] === 0)) {
        this.silentFrames += 1
        continue
      }
      if (this.silentFrames > sampleRate / 10) this.port.postMessage({ began: currentFrame + at })
      this.silentFrames = 0
    }
    return true
  }
}

registerProcessor('sound-probe', SoundProbe)
