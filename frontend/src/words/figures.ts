/** Numbers and lengths in the person's own units. */
import type { LengthUnit, Pair } from "../api/types";

const LANGUAGE = "en";
const MM: Record<LengthUnit, number> = { mm: 1, cm: 10, in: 25.4 };
/** A space at which no line is broken: a number stays with its unit. */
const HELD = "\u00a0";
const DIGITS: Record<LengthUnit, number> = { mm: 0, cm: 1, in: 1 };

/** A number with at most `digits` after the point, thousands apart. */
export function number(value: number, digits = 0): string {
  return new Intl.NumberFormat(LANGUAGE, { maximumFractionDigits: digits }).format(value + 0);
}

/** A number with exactly `digits` after the point. */
export function fixed(value: number, digits: number): string {
  return new Intl.NumberFormat(LANGUAGE, {
    minimumFractionDigits: digits,
    maximumFractionDigits: digits,
  }).format(value);
}

/** '42 cm'. */
export function length(mm: number, unit: LengthUnit, finer = 0): string {
  return `${number(mm / MM[unit], DIGITS[unit] + finer)}${HELD}${unit}`;
}

/** How far one stands away, as finely as one would say it: '36 cm'. */
export function afar(mm: number, unit: LengthUnit): string {
  return length(unit === "in" ? Math.round(mm / MM.in) * MM.in : Math.round(mm / 10) * 10, unit);
}

/** '42 × 28 cm'. */
export function size([width, height]: Pair, unit: LengthUnit): string {
  const [across, down] = [width, height].map((mm) => number(mm / MM[unit], DIGITS[unit]));
  return `${across}${HELD}×${HELD}${down}${HELD}${unit}`;
}

export const inUnit = (mm: number, unit: LengthUnit): number => mm / MM[unit];
export const toMm = (value: number, unit: LengthUnit): number => value * MM[unit];

/** '24 million', '850 thousand'. */
export function many(value: number): string {
  if (value >= 1e6) return `${number(value / 1e6, value < 1e7 ? 1 : 0)} million`;
  return value >= 1e4 ? `${number(value / 1e3)} thousand` : number(value);
}

/** '143 MB'. */
export function bytes(value: number): string {
  if (value < 1e6) return `${number(Math.max(1, value / 1e3))} kB`;
  return value < 1e9 ? `${number(value / 1e6, value < 1e7 ? 1 : 0)} MB` : `${number(value / 1e9, 1)} GB`;
}

/** 'a, b and c'. */
export function listed(items: string[]): string {
  return new Intl.ListFormat(LANGUAGE, { type: "conjunction" }).format(items).replace(/, and /, " and ");
}

/** A file's name without what tells its kind. */
export const stem = (name: string): string => name.replace(/(.)\.[^.]*$/, "$1");

/** A file's name as one would say a picture's: 'tidal-bay_2' is 'Tidal bay 2'. */
export function titled(name: string): string {
  return capital(name.replace(/[-_]+/g, " ").trim() || name);
}

export const capital = (name: string): string => name.charAt(0).toUpperCase() + name.slice(1);

/** A sentence of the server's in a printer's own marks: curved quotes, true times signs, numbers held to their units. */
export function set(text: string): string {
  return text
    .replace(/(\d) ?x ?(?=\d)/g, `$1${HELD}×${HELD}`)
    .replace(/(\d) ?(mm|cm|in)\b/g, `$1${HELD}$2`)
    .replace(/L\* (?=\d)/g, `L*${HELD}`)
    .replace(/(\d) (?=ΔE00|%)/g, `$1${HELD}`)
    .replace(/(\p{L})'(?=\p{L})/gu, "$1’")
    .replace(/'([^']+)'/g, "‘$1’");
}

/** '21:50'. */
export function clock(at: Date): string {
  return new Intl.DateTimeFormat(LANGUAGE, { hour: "2-digit", minute: "2-digit", hour12: false }).format(at);
}
