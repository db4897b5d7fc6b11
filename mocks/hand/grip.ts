import type { Adjuster } from '../plant/adjusters.ts'
import type { SimulatedSet } from '../plant/simulated-set.ts'
import type { SetTo } from './set-to.ts'
import type { Tool } from './tool.ts'

/** What the hands hold: the key, the trimming tool with the move that it is making, and the breath for a whistle. */
export class Grip {
  readonly tool: Tool
  readonly #set: SimulatedSet
  readonly #setTo: SetTo
  readonly #serviceMs: () => number
  #keyIsDown = false
  #whistles = false
  #moving = false

  /** `serviceMs`: the service's clock now, as the hand knows it. */
  constructor(set: SimulatedSet, tool: Tool, setTo: SetTo, serviceMs: () => number) {
    this.#set = set
    this.tool = tool
    this.#setTo = setTo
    this.#serviceMs = serviceMs
  }

  get keyIsDown(): boolean {
    return this.#keyIsDown
  }

  /** A move was begun, and nobody has looked yet at what it did. */
  get moving(): boolean {
    return this.#moving
  }

  key(down: boolean): void {
    if (down === this.#keyIsDown) return
    this.#keyIsDown = down
    this.#set.key(down)
    if (!down) this.whistle(false)
    this.#lookAfresh()
  }

  whistle(on: boolean): void {
    if (on === this.#whistles) return
    this.#whistles = on
    this.#set.whistle(on)
  }

  /** Begins a move, by turns or shares of 270 degrees; it ends by itself. */
  move(adjuster: Adjuster, amount: number): void {
    this.tool.turn(adjuster, amount)
    this.#moving = true
  }

  /** The move has come to its end: what it did is looked at from now on. */
  moved(): void {
    if (!this.#moving) return
    this.#moving = false
    this.#setTo.made(this.#serviceMs())
  }

  /** The move that was begun is of no account. */
  forgetMove(): void {
    this.#moving = false
  }

  /** What was under way is given up; the next move waits for readings from now on. */
  still(): void {
    if (this.#moving && this.tool.busy()) this.#lookAfresh()
    else if (this.#moving) this.#setTo.made(this.#serviceMs())
    this.tool.stop()
    this.#moving = false
  }

  /** Still, and the tool out. */
  off(): void {
    this.still()
    this.tool.out()
  }

  /** Tool out, key up. */
  rest(): void {
    this.off()
    this.key(false)
  }

  #lookAfresh(): void {
    this.#setTo.lookAfresh(this.#serviceMs())
  }
}
