/** The sheet that is wished for; kept while the page is open, so that one more is like the last. */

/** From the printer to a verdict: an hour, most of it drying. Common practice. */
export const MINUTES = 60;

class Remembered {
  /** Empty: as typed. */
  size = $state("10x15cm");
  typed = $state("");
  mode = $state("tiles");
}

export const remembered = new Remembered();

export interface SheetWish {
  sheet: string;
  mode: "tiles" | "whole" | "prints";
  slot: "next" | null;
}

/** As the server is asked; a quarter is a slot of a large sheet with tiles on it. */
export function wish(): SheetWish {
  const quarter = remembered.mode === "quarter";
  return {
    sheet: remembered.size || remembered.typed.trim(),
    mode: quarter ? "tiles" : (remembered.mode as SheetWish["mode"]),
    slot: quarter ? "next" : null,
  };
}
