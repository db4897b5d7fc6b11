/** A list of listeners; each is told in the order in which it came. */
export class Listeners<T> {
  readonly #listeners = new Set<(news: T) => void>()

  /** Returns how to take the listener off again. */
  add(listener: (news: T) => void): () => void {
    const own = (news: T) => listener(news) // the same function added twice is two listeners
    this.#listeners.add(own)
    return () => this.#listeners.delete(own)
  }

  tell(news: T): void {
    for (const listener of [...this.#listeners]) listener(news)
  }
}
