/** Looking closer: where on the print one is, and rulers of the print at the picture's edges. */
import type { LengthUnit } from "../../api/types";
import { inUnit, number, toMm } from "../../words/figures";

/** The part of the print that is seen, in mm from its upper left. */
export interface Seen {
  left: number;
  top: number;
  width: number;
  height: number;
}

export interface Tick {
  mm: number;
  px: number;
  /** Only every fifth or tenth tick is named. */
  label: string;
}

/** Least distance of two ticks, in pixels. */
const APART = 7;

/** Ticks along an edge that shows `lengthMm` from `fromMm` on over `px` pixels, in the person's unit. */
export function rulerTicks(fromMm: number, lengthMm: number, px: number, unit: LengthUnit): Tick[] {
  if (!(lengthMm > 0) || !px) return [];
  const scale = px / lengthMm;
  const fine = unit === "in" ? toMm(1 / 16, "in") : 1;
  const steps = unit === "in" ? [1, 2, 4, 8, 16, 32, 64] : [1, 2, 5, 10, 20, 50, 100];
  const step = fine * (steps.find((factor) => factor * fine * scale >= APART) ?? steps.at(-1) ?? 1);
  const named = unit === "in" ? 8 : 10;
  const ticks: Tick[] = [];
  for (let i = Math.ceil(Math.max(0, fromMm) / step); i * step <= fromMm + lengthMm; i++) {
    const mm = i * step;
    const label = i % named === 0 ? number(inUnit(mm, unit), unit === "mm" ? 0 : 1) : "";
    ticks.push({ mm, px: (mm - fromMm) * scale, label });
  }
  return ticks;
}

interface Places {
  rows: readonly string[];
  columns: readonly string[];
  middle: string;
  all: string;
}

/** Where the middle of what is seen lies on the print: 'upper right', 'left', 'the middle'. */
export function whereOn(seen: Seen, [width, height]: readonly [number, number], say: Places): string {
  if (seen.width >= width * 0.98 && seen.height >= height * 0.98) return say.all;
  const third = (share: number) => Math.max(0, Math.min(2, Math.floor(share * 3)));
  const row = say.rows[third((seen.top + seen.height / 2) / height)] ?? "";
  const column = say.columns[third((seen.left + seen.width / 2) / width)] ?? "";
  return [row, column].filter(Boolean).join(" ") || say.middle;
}
