/** Sheets of a paper: which one a print fits on, what it costs, how many are left. */
import type { Pair, Paper } from "../../api/types";
import { table } from "../../shell/table.svelte";
import { money } from "../../words/money";

const INCH_MM = 25.4;

/** A size by name or measures in mm, short edge first: 'A4', '10x15cm', '8x10in'; null when it is neither. */
export function sizeMm(name: string): Pair | null {
  const series = /^a(\d{1,2})(\+?)$/i.exec(name.trim());
  if (series?.[1]) {
    // ISO 216: A0 has one square metre and the proportion of root two; each next is half of it.
    const n = Number(series[1]);
    const [long, short] = [1000 * 2 ** (0.25 - n / 2), 1000 * 2 ** (-0.25 - n / 2)].map((mm) =>
      Math.floor(mm + 0.2),
    );
    if (series[2] && n === 3) return [329, 483];
    return [short ?? 0, long ?? 0];
  }
  const typed = /^(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)\s*(mm|cm|in)?$/i.exec(name.trim());
  if (!typed?.[1] || !typed[2]) return null;
  const unit = { mm: 1, cm: 10, in: INCH_MM }[(typed[3] ?? "cm").toLowerCase()] ?? 10;
  const edges = [Number(typed[1]) * unit, Number(typed[2]) * unit].sort((a, b) => a - b);
  return [edges[0] ?? 0, edges[1] ?? 0];
}

export interface Fitting {
  /** As it is called on the shelf. */
  size: string;
  price: number | null;
  left: number | null;
}

/** The smallest size of a paper on the shelf that holds a sheet of these measures. */
export function fitting(paper: Paper | null, sheetMm: Pair): Fitting | null {
  if (!paper) return null;
  const [short, long] = [Math.min(...sheetMm), Math.max(...sheetMm)];
  const known = [...new Set([...Object.keys(paper.stock), ...Object.keys(paper.prices)])]
    .map((size) => ({ size, mm: sizeMm(size) }))
    .filter(({ mm }) => mm !== null && mm[0] >= short - 0.6 && mm[1] >= long - 0.6)
    .sort((a, b) => (a.mm?.[0] ?? 0) * (a.mm?.[1] ?? 0) - (b.mm?.[0] ?? 0) * (b.mm?.[1] ?? 0));
  const first = known[0];
  if (!first) return null;
  return { size: first.size, price: paper.prices[first.size] ?? null, left: paper.stock[first.size] ?? null };
}

/** A price in the person's own currency. */
export const priced = (price: number): string => money(price, table.currency);

/** What one sheet of this size costs, as it was told; null when it was not. */
export function priceOf(paper: Paper | null, size: string): string | null {
  const mm = sizeMm(size);
  const found = mm && fitting(paper, mm);
  return found?.price ? priced(found.price) : null;
}
