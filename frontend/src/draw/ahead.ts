/** The one picture that is known to be wanted next: asked for before the place where it will lie is there. */
import { ask } from "../api/client";
import { pace } from "./pace";

interface Ahead {
  /** The address that answers already, and the one it will be asked for by. */
  now: string;
  later: string;
  stop: AbortController;
  /** Ready to be laid down. */
  image: Promise<HTMLImageElement>;
  /** How long it was waited for, once it is ready, in ms. */
  tookMs: number;
}

// not states: nothing is drawn because they change
let coming: Ahead | null = null;
let lastWidth = 0;

/** A picture decoded, so that it is seen in the next frame; its address is to be revoked when it goes. */
export async function decoded(blob: Blob): Promise<HTMLImageElement> {
  const image = new Image();
  image.src = URL.createObjectURL(blob);
  await image.decode();
  return image;
}

/** An address without what the server will say of the ticket only once it has changed. */
function unsettled(address: string): string {
  const url = new URL(address, location.href);
  url.searchParams.delete("shown");
  return url.href;
}

export const ahead = {
  /** So wide, in pixels, the server last drew the proof for the page; 0 where the page draws by itself. */
  drawn(widthPx: number): void {
    lastWidth = widthPx;
  },
  /** `now` gives the address that answers already, `later` the one it will be asked for by. */
  begin(now: (width: number) => string, later: (width: number) => string): void {
    const width = Math.round(lastWidth * pace.share());
    if (coming && coming.now === now(width) && coming.later === later(width)) return;
    ahead.leave();
    if (!width) return;
    const began = performance.now();
    const stop = new AbortController();
    const image = ask(now(width), { signal: stop.signal }).then(async (answer) =>
      decoded(await answer.blob()),
    );
    const begun: Ahead = { now: now(width), later: later(width), stop, image, tookMs: 0 };
    // whoever takes it hears of the refusal; left alone it concerns nobody
    image.then(
      () => (begun.tookMs = performance.now() - began),
      () => undefined,
    );
    coming = begun;
  },
  /** What was asked for ahead under this address, once. */
  take(address: string): Pick<Ahead, "image" | "tookMs"> | null {
    if (!coming || unsettled(coming.later) !== unsettled(address)) return null;
    const taken = coming;
    coming = null;
    return taken;
  },
  leave(): void {
    coming?.stop.abort();
    coming?.image.then(
      (image) => URL.revokeObjectURL(image.src),
      () => undefined,
    );
    coming = null;
  },
};
