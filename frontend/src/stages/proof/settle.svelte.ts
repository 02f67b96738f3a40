/** The eye's first moment with a print: the paper's white alone, then the picture. Once for each ticket and visit. */

const SETTLE_MS = 1600;
const seen = new Set<string>();

class Settle {
  waiting = $state(true);
  #until = performance.now() + SETTLE_MS;
  #timer: ReturnType<typeof setTimeout> | undefined;

  constructor(waiting: boolean) {
    this.waiting = waiting;
  }

  /** The picture has come: it is let through when the eye has had its moment. */
  shown(): void {
    if (!this.waiting || this.#timer) return;
    this.#timer = setTimeout(() => this.end(), Math.max(0, this.#until - performance.now()));
  }

  end(): void {
    clearTimeout(this.#timer);
    this.waiting = false;
  }
}

export function settling(ticket: string): Settle {
  const first = !seen.has(ticket);
  seen.add(ticket);
  return new Settle(first);
}
