/** A china-marker loop round a place. The wobble is fixed by the number, so that a loop never jumps. */

export interface Loop {
  d: string;
  /** Where its number stands. */
  x: number;
  y: number;
}

const POINTS = 40;
/** How far a loop goes on past its beginning. */
const OVERLAP = 3;
const AROUND = 1.12;
const LEAST = 16;
/** The number stands at least so far from the middle, lest it cover a small place. */
const ASIDE = 21;

/** box: left, top, width, height in shares of a picture `width` x `height` pixels large. */
export function loop(
  n: number,
  [left, top, wide, high]: readonly [number, number, number, number],
  width: number,
  height: number,
): Loop {
  const centre = [(left + wide / 2) * width, (top + high / 2) * height] as const;
  const reach = [
    Math.max(LEAST, ((wide * width) / 2) * AROUND),
    Math.max(LEAST, ((high * height) / 2) * AROUND),
  ] as const;
  let d = "";
  for (let i = 0; i <= POINTS + OVERLAP; i++) {
    const t = (i / POINTS) * 2 * Math.PI - 2.2;
    const wobble = 1 + 0.035 * Math.sin(3 * t + n) + 0.022 * Math.sin(5 * t + 2 * n) + i * 0.0012;
    const x = centre[0] + reach[0] * wobble * Math.cos(t);
    const y = centre[1] + reach[1] * wobble * Math.sin(t);
    d += `${i ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`;
  }
  const inside = (value: number, end: number) => Math.min(end - 14, Math.max(14, value));
  return {
    d,
    x: inside(centre[0] - Math.max(ASIDE, reach[0] * 0.72), width),
    y: inside(centre[1] - Math.max(ASIDE, reach[1] * 0.86), height),
  };
}
