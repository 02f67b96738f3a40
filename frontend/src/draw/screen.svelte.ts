/** The screen in front of the person: its gamut, and how many pixels make a millimetre once that was measured. */

const KEPT = "wallworthy.px-per-mm";
/** Nothing between a wall of light and a phone held close has other pixels than these. */
const FEWEST = 0.5;
const MOST = 20;

function kept(): number | null {
  const value = Number(localStorage.getItem(KEPT));
  return value > FEWEST && value < MOST ? value : null;
}

class Screen {
  #wide = matchMedia("(color-gamut: p3)");
  /** The space pictures are asked for in: Display P3 only where the browser says the screen shows it. */
  space = $state<"srgb" | "display-p3">(this.#wide.matches ? "display-p3" : "srgb");
  /** CSS pixels on a millimetre of this screen; null until measured. */
  pxPerMm = $state<number | null>(kept());

  constructor() {
    this.#wide.addEventListener("change", (event) => {
      this.space = event.matches ? "display-p3" : "srgb";
    });
  }

  measured(pxPerMm: number): void {
    this.pxPerMm = pxPerMm;
    localStorage.setItem(KEPT, String(pxPerMm));
  }
}

export const screen = new Screen();
