/** The one picture that is known to be wanted next: asked for before the place where it will lie is there. */
import { ask } from "../api/client";
import { pace } from "./pace";

interface Ahead {
  /** Under this address it will be asked for. */
  as: string;
  stop: AbortController;
  blob: Promise<Blob>;
  /** When, by the page's clock. */
  began: number;
}

// not states: nothing is drawn because they change
let coming: Ahead | null = null;
let lastWidth = 0;

export const ahead = {
  /** So wide, in pixels, the server last drew the proof for the page; 0 where the page draws by itself. */
  drawn(widthPx: number): void {
    lastWidth = widthPx;
  },
  /** `now` gives the address that answers already, `later` the one it will be asked for by. */
  begin(now: (width: number) => string, later: (width: number) => string): void {
    ahead.leave();
    if (!lastWidth) return;
    const width = Math.round(lastWidth * pace.share());
    const stop = new AbortController();
    const blob = ask(now(width), { signal: stop.signal }).then((answer) => answer.blob());
    // whoever takes it hears of the refusal; left alone it concerns nobody
    blob.catch(() => undefined);
    coming = { as: later(width), stop, blob, began: performance.now() };
  },
  /** What was asked for ahead under this address, once. */
  take(address: string): Pick<Ahead, "blob" | "began"> | null {
    if (coming?.as !== address) return null;
    const taken = coming;
    coming = null;
    return taken;
  },
  leave(): void {
    coming?.stop.abort();
    coming = null;
  },
};
