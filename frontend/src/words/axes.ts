/** The six axes of a correction in words: faults of a tile, remedies, and how much. */

export const AXES = ["lightness", "contrast", "shadow", "green_red", "blue_yellow", "chroma"] as const;
export type Axis = (typeof AXES)[number];
export type Sign = -1 | 1;
export type Grade = "" | "a touch" | "clearly";
export type Corr = Record<string, number>;

/** What is said of a tile with too little (first) or too much (second) of an axis, as the server understands it. */
export const FAULTS: Record<Axis, readonly [string, string]> = {
  lightness: ["too dark", "too light"],
  contrast: ["too soft", "too strong"],
  shadow: ["shadows too deep", "shadows too open"],
  green_red: ["too green", "too red"],
  blue_yellow: ["too blue", "too yellow"],
  chroma: ["too little colour", "too much colour"],
};

export const GRADES: readonly Grade[] = ["a touch", "", "clearly"];

const REMEDIES: Record<Axis, readonly [string, string]> = {
  lightness: ["darker", "lighter"],
  contrast: ["softer", "stronger"],
  shadow: ["shadows deeper", "shadows more open"],
  green_red: ["greener", "redder"],
  blue_yellow: ["bluer", "yellower"],
  chroma: ["less colour", "more colour"],
};

/** One just noticeable step of each axis in the corrections' units: those of the program (`trial.axes`). */
export const STEP: Record<Axis, number> = {
  lightness: 1.1,
  contrast: 0.03,
  shadow: 1.2,
  green_red: 0.8,
  blue_yellow: 0.8,
  chroma: 0.04,
};
/** Steps below which nobody would see it: it goes unsaid. */
export const UNSAID = 0.5;
const NEUTRAL: Record<Axis, number> = {
  lightness: 0,
  contrast: 1,
  shadow: 0,
  green_red: 0,
  blue_yellow: 0,
  chroma: 1,
};
const NUMBERS: Record<Axis, { name: string; unit: string; digits: number }> = {
  lightness: { name: "lightness", unit: "L*", digits: 1 },
  contrast: { name: "contrast", unit: "×", digits: 2 },
  shadow: { name: "shadows", unit: "L*", digits: 1 },
  green_red: { name: "green to red", unit: "a*", digits: 1 },
  blue_yellow: { name: "blue to yellow", unit: "b*", digits: 1 },
  chroma: { name: "colour", unit: "×", digits: 2 },
};

/** 'A1 a touch too dark', 'A1 shadows clearly too open': what is sent, and what is read. */
export function fault(axis: Axis, sign: Sign, grade: Grade): string {
  const plain = FAULTS[axis][sign > 0 ? 1 : 0];
  return grade ? plain.replace("too ", `${grade} too `) : plain;
}

/** How far a correction goes along an axis, in just noticeable steps. */
export function steps(axis: Axis, correction: Corr): number {
  return ((correction[axis] ?? NEUTRAL[axis]) - NEUTRAL[axis]) / STEP[axis];
}

/** What a correction changes beyond another, as a correction. */
export function beyond(correction: Corr, other: Corr): Corr {
  const change = (axis: Axis) => (correction[axis] ?? NEUTRAL[axis]) - (other[axis] ?? NEUTRAL[axis]);
  return Object.fromEntries(AXES.map((axis) => [axis, NEUTRAL[axis] + change(axis)]));
}

function amount(count: number): string {
  if (count < 1.5) return "a touch ";
  if (count < 2.5) return "";
  return count < 3.5 ? "clearly " : "much ";
}

/** 'a touch lighter, shadows clearly more open', the farthest first; empty when nothing is asked that could be seen. */
export function remedies(correction: Corr): string[] {
  return AXES.map((axis) => ({ axis, count: steps(axis, correction) }))
    .filter(({ count }) => Math.abs(count) >= UNSAID)
    .sort((a, b) => Math.abs(b.count) - Math.abs(a.count))
    .map(({ axis, count }) => {
      const word = REMEDIES[axis][count > 0 ? 1 : 0];
      const much = amount(Math.abs(count));
      return word.startsWith("shadows ") ? `shadows ${much}${word.slice(8)}` : `${much}${word}`;
    });
}

export interface AxisNumber {
  axis: Axis;
  name: string;
  value: string;
}

/** A correction in figures: '+2.1 L*', '× 1.04'. */
export function figures(correction: Corr): AxisNumber[] {
  return AXES.map((axis) => {
    const { name, unit, digits } = NUMBERS[axis];
    const value = correction[axis] ?? NEUTRAL[axis];
    const text = Math.abs(value).toFixed(digits);
    const sign = Number(text) === 0 ? "±" : value > 0 ? "+" : "−";
    const shown = unit === "×" ? `× ${text}` : `${sign}${text} ${unit}`;
    return { axis, name, value: shown };
  });
}

/** How sure a figure is: '± 0.8 L*'. */
export function spread(axis: Axis, sd: number): string {
  const { unit, digits } = NUMBERS[axis];
  return `± ${sd.toFixed(digits)}${unit === "×" ? "" : ` ${unit}`}`;
}
