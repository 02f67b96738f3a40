/** Whether the program behind the page answers, and to this browser; the page finds it again by itself. */

const EVERY_MS = 2000;
/** It answers, and does not know this browser's key: it was started anew. */
const NOT_LET_IN = 401;

class Link {
  gone = $state(false);
  /** Something answers that does not let this browser in. */
  locked = $state(false);
  /** Either way nothing that is asked is done. */
  readonly away = $derived(this.gone || this.locked);
  /** The last moment it answered: all done until then is on record. */
  answered = $state(new Date());
  #waiting: ReturnType<typeof setTimeout> | undefined;
  #back = new Set<(anew: boolean) => void>();

  /** Called by the client after every answer, refusals included. */
  heard(status: number): void {
    this.gone = this.gone && status !== NOT_LET_IN;
    if (status === NOT_LET_IN) {
      this.locked = true;
      this.#later();
      return;
    }
    this.answered = new Date();
    if (!this.gone && !this.locked) return;
    const anew = this.locked;
    this.gone = this.locked = false;
    clearTimeout(this.#waiting);
    this.#waiting = undefined;
    for (const again of this.#back) again(anew);
  }

  /** Called by the client when nothing answers. */
  lost(): void {
    this.gone = true;
    this.locked = false;
    this.#later();
  }

  #later(): void {
    this.#waiting ??= setTimeout(() => void this.tryAgain(), EVERY_MS);
  }

  async tryAgain(): Promise<void> {
    clearTimeout(this.#waiting);
    this.#waiting = undefined;
    try {
      const { status } = await fetch("/api/state", { credentials: "same-origin" });
      this.heard(status);
    } catch {
      this.lost();
    }
  }

  /**
   * Runs `again` each time the program has come back, and whether it let this browser in anew meanwhile; the answer
   * takes it off.
   */
  onBack(again: (anew: boolean) => void): () => void {
    this.#back.add(again);
    return () => this.#back.delete(again);
  }
}

export const link = new Link();
