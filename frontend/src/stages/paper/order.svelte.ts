/** The order for a master before it has a ticket: kept while the page is open, and over a reload. */
import type { Query } from "../../api/client";
import type { Pair } from "../../api/types";
import type { MarginsMm } from "../../draw/sheet";
import { sameAllRound } from "../../draw/sheet";
import { inUnit } from "../../words/figures";
import type { LengthUnit } from "../../api/types";

export interface Order {
  size: string;
  fill: boolean;
  distance: string;
  light: string;
  /** One width, or top, right, bottom and left. */
  border_mm: number | MarginsMm;
  assume: string | null;
  /** The name of the file `assume` came from. */
  assumeName: string | null;
}

/** The width on each side. */
export const marginsOf = (border: number | MarginsMm): MarginsMm =>
  typeof border === "number" ? [border, border, border, border] : border;

/** One width where all sides have the same. */
export const borderOf = (margins: MarginsMm): number | MarginsMm =>
  sameAllRound(margins) ? margins[0] : margins;

export const FIRST: Order = {
  size: "A3",
  fill: false,
  distance: "",
  light: "",
  border_mm: 20,
  assume: null,
  assumeName: null,
};

const place = (sha: string) => `wallworthy.order.${sha}`;

export function orderOf(sha: string): Order {
  try {
    return { ...FIRST, ...(JSON.parse(sessionStorage.getItem(place(sha)) ?? "{}") as Partial<Order>) };
  } catch {
    return { ...FIRST };
  }
}

/** The order as the server asks for it, for a picture that has no ticket. */
export function queryOf(order: Order): Query {
  return {
    size: order.size,
    fill: order.fill,
    distance: order.distance || null,
    light: order.light || null,
    assume: order.assume,
  };
}

export function keepOrder(sha: string, order: Order): void {
  sessionStorage.setItem(place(sha), JSON.stringify(order));
}

/** Sizes by name, in mm; the server knows the same names. */
export const NAMED: Record<string, Pair> = {
  A5: [148, 210],
  A4: [210, 297],
  A3: [297, 420],
  "A3+": [330.2, 482.6],
  A2: [420, 594],
};
const CM: Pair[] = [
  [10, 15],
  [13, 18],
  [20, 30],
  [30, 40],
  [40, 50],
  [50, 70],
];
const INCH: Pair[] = [
  [4, 6],
  [5, 7],
  [8, 10],
  [11, 14],
  [16, 20],
  [20, 24],
];
const MM_OF: Record<string, number> = { mm: 1, cm: 10, m: 1000, in: 25.4, ft: 304.8 };

/** The sizes offered for a picture, as the server reads them. */
export function sizesOffered(unit: LengthUnit, picture: Pair): string[] {
  const own = unit === "in" ? INCH.map(([a, b]) => `${a}x${b}in`) : CM.map(([a, b]) => `${a}x${b}cm`);
  return [...Object.keys(NAMED), ...own.map((name) => turned(name, picture))];
}

/** A size in numbers turned the picture's way: the server takes it as written. */
export function turned(text: string, [width, height]: Pair): string {
  const found = /^([\d.]+)x([\d.]+)(mm|cm|in)$/i.exec(text);
  if (!found) return text;
  const [, a, b, unit] = found;
  return Number(a) > Number(b) === width >= height ? text : `${b}x${a}${unit}`;
}

/** What is typed as the server reads it: '30 × 40' is '30x40cm'. */
export function sizeText(typed: string, unit: LengthUnit): string {
  const plain = typed.trim().replaceAll("×", "x").replace(/\s+/g, "").replaceAll(",", ".");
  return /^[\d.]+x[\d.]+$/i.test(plain) ? plain + unit : plain;
}

export function lengthText(typed: string, unit: LengthUnit): string {
  const plain = typed.trim().replace(/\s+/g, "").replace(",", ".");
  return /^[\d.]+$/.test(plain) ? plain + unit : plain;
}

/** A length as the server reads it, in mm; null when it is none. */
export function lengthMm(text: string): number | null {
  const found = /^(\d+(?:\.\d+)?)(mm|cm|m|in|ft)$/i.exec(text);
  const unit = MM_OF[found?.[2]?.toLowerCase() ?? ""];
  return unit ? Number(found?.[1]) * unit : null;
}

/** The size in mm; null when it is not one (the server says why). */
export function sizeMm(text: string): Pair | null {
  const named = NAMED[text];
  if (named) return named;
  const found = /^([\d.]+)x([\d.]+)(mm|cm|in)$/i.exec(text);
  const unit = MM_OF[found?.[3]?.toLowerCase() ?? ""];
  const [a, b] = [Number(found?.[1]), Number(found?.[2])];
  return unit && a > 0 && b > 0 ? [a * unit, b * unit] : null;
}

/** How large the picture lies in a size that is turned its way: whole in its own proportions, or filling it. */
export function placed([width, height]: Pair, within: Pair, fill: boolean): Pair {
  const [short, long] = [Math.min(...within), Math.max(...within)];
  const turned: Pair = width >= height ? [long, short] : [short, long];
  if (fill) return turned;
  const scale = Math.min(turned[0] / width, turned[1] / height);
  return [width * scale, height * scale];
}

/** The picture's own pixels on an inch of the print. */
export function density([width, height]: Pair, size: Pair, fill: boolean): number {
  const ppi: Pair = [width / inUnit(size[0], "in"), height / inUnit(size[1], "in")];
  return fill ? Math.min(...ppi) : ppi[0];
}
