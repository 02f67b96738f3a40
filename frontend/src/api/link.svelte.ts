/** Whether the program behind the page answers; the page finds it again by itself. */

const EVERY_MS = 2000;

class Link {
  gone = $state(false);
  /** The last moment it answered: all done until then is on record. */
  answered = $state(new Date());
  #waiting: ReturnType<typeof setTimeout> | undefined;
  #back = new Set<() => void>();

  /** Called by the client after every answer, refusals included. */
  heard(): void {
    this.answered = new Date();
    if (!this.gone) return;
    this.gone = false;
    clearTimeout(this.#waiting);
    this.#waiting = undefined;
    for (const again of this.#back) again();
  }

  /** Called by the client when nothing answers. */
  lost(): void {
    this.gone = true;
    this.#waiting ??= setTimeout(() => void this.tryAgain(), EVERY_MS);
  }

  async tryAgain(): Promise<void> {
    clearTimeout(this.#waiting);
    this.#waiting = undefined;
    try {
      await fetch("/api/state", { credentials: "same-origin" });
      this.heard();
    } catch {
      this.lost();
    }
  }

  /** Runs `again` each time the program has come back; the answer takes it off. */
  onBack(again: () => void): () => void {
    this.#back.add(again);
    return () => this.#back.delete(again);
  }
}

export const link = new Link();
