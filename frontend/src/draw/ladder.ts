/** The tone ladder: two step wedges beside the print; threads show where each tone of the master lands. */
import type { LadderFigures } from "../api/types";

const STEP = 5;
/** Width of a thread in pixels for the whole picture. */
const THREAD = 34;
const THINNEST = 0.6;
/** Below this share of the picture a thread is only dotted. */
const DOTTED = 0.004;

/** The grey an sRGB screen shows for a CIELAB L*. */
export function greyOf(lightness: number): string {
  const y = lightness > 8 ? ((lightness + 16) / 116) ** 3 : lightness / 903.3;
  const coded = y <= 0.0031308 ? 12.92 * y : 1.055 * y ** (1 / 2.4) - 0.055;
  const value = Math.round(Math.min(1, Math.max(0, coded)) * 255);
  return `rgb(${value},${value},${value})`;
}

/** Where L* `lightness` lands: straight between the master's tones 0, 5 ... 100 that were told. */
export function landing(figures: LadderFigures, lightness: number): number {
  const at = Math.min(100, Math.max(0, lightness)) / STEP;
  const before = Math.floor(at);
  const low = figures.land[before] ?? figures.lo;
  const high = figures.land[before + 1] ?? low;
  return low + (high - low) * (at - before);
}

export interface Rung {
  from: number;
  to: number;
  landsFrom: number;
  landsTo: number;
  share: number;
  thread: { from: number; to: number; width: number; dotted: boolean };
}

/** The twenty steps, darkest first. */
export function rungs(figures: LadderFigures): Rung[] {
  return Array.from({ length: 100 / STEP }, (_, i) => {
    const from = i * STEP;
    const share = figures.share[i] ?? 0;
    return {
      from,
      to: from + STEP,
      landsFrom: landing(figures, from),
      landsTo: landing(figures, from + STEP),
      share,
      thread: {
        from: from + STEP / 2,
        to: landing(figures, from + STEP / 2),
        width: Math.max(THINNEST, share * THREAD),
        dotted: share < DOTTED,
      },
    };
  });
}

/** The shortest stretch of L* that holds at least half of the picture, to whole steps. */
export function mostly(figures: LadderFigures): [number, number] {
  const share = figures.share;
  const total = share.reduce((sum, one) => sum + one, 0);
  let best: [number, number] = [0, 100];
  for (let from = 0; from < share.length; from++) {
    let sum = 0;
    for (let to = from; to < share.length; to++) {
      sum += share[to] ?? 0;
      if (sum < total / 2) continue;
      if ((to + 1 - from) * STEP < best[1] - best[0]) best = [from * STEP, (to + 1) * STEP];
      break;
    }
  }
  return best;
}
