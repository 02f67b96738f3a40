/**
 * One line of events for all tabs: a browser keeps six connections to a server that speaks HTTP/1.1, and a line
 * takes one of them for good. Whichever tab has the lock listens and passes on what it hears; when that tab is
 * closed, the lock goes to the next.
 */

const NAME = "wallworthy.line";
const KINDS = ["hello", "job", "ticket", "hold", "look"] as const;

/** What the server tells; `lost` when the line broke, `again` when it is there once more. */
export type Heard = Exclude<(typeof KINDS)[number], "hello"> | "lost" | "again";

interface Passed {
  kind: Heard;
  data: string;
}

export class Line {
  readonly #told: (kind: Heard, data: string) => void;
  #others: BroadcastChannel | undefined;
  #source: EventSource | undefined;
  #mine = false;
  /** There was a line before this tab's own: what was told in between has been missed. */
  #later = false;

  constructor(told: (kind: Heard, data: string) => void) {
    this.#told = told;
  }

  open(): void {
    if (this.#others) return;
    this.#others = new BroadcastChannel(NAME);
    this.#others.onmessage = ({ data }: MessageEvent<Passed>) => this.#told(data.kind, data.data);
    // Kept until the tab is closed. A browser without locks (none at a plain address) listens in each tab.
    if (!navigator.locks) void this.#hold();
    else
      void navigator.locks.request(NAME, { ifAvailable: true }, (lock) =>
        lock ? this.#hold() : this.#wait(),
      );
  }

  #wait(): void {
    this.#later = true;
    void navigator.locks.request(NAME, () => this.#hold());
  }

  /** Listens once more after the line broke, where this tab is the one to listen. */
  again(): void {
    if (this.#mine && !this.#source) this.#listen();
  }

  #hold(): Promise<never> {
    this.#mine = true;
    this.#listen();
    return new Promise<never>(() => {});
  }

  #listen(): void {
    const source = new EventSource("/api/events");
    this.#source = source;
    for (const kind of KINDS)
      source.addEventListener(kind, ({ data }: MessageEvent<string>) =>
        kind === "hello" ? this.#greeted() : this.#pass(kind, data),
      );
    source.onerror = () => {
      source.close();
      this.#source = undefined;
      this.#pass("lost", "");
    };
  }

  #greeted(): void {
    if (this.#later) this.#pass("again", "");
    this.#later = true;
  }

  #pass(kind: Heard, data: string): void {
    this.#told(kind, data);
    this.#others?.postMessage({ kind, data } satisfies Passed);
  }
}
