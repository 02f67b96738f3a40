/** A china-marker loop round a place. The wobble is fixed by the number, so that a loop never jumps. */

export interface Loop {
  d: string;
  /** Where its number stands. */
  x: number;
  y: number;
}

const POINTS = 80;
/** How far a loop goes on past its beginning. */
const OVERLAP = 6;
const AROUND = 1.12;
/** Round a large place it goes no farther out than this, in pixels, lest it leave the sheet. */
const FARTHEST = 12;
/** A loop that reaches farther than this, in pixels, wobbles less for its size, and so stays on the sheet. */
const CALM = 120;
const LEAST = 16;
/** The number stands at least so far from the middle, lest it cover a small place. */
const ASIDE = 21;

const around = (half: number) => Math.max(LEAST, Math.min(half * AROUND, half + FARTHEST));

/** box: left, top, width, height in shares of a picture `width` x `height` pixels large. */
export function loop(
  n: number,
  [left, top, wide, high]: readonly [number, number, number, number],
  width: number,
  height: number,
): Loop {
  const centre = [(left + wide / 2) * width, (top + high / 2) * height] as const;
  const reach = [around((wide * width) / 2), around((high * height) / 2)] as const;
  const lively = Math.min(1, CALM / Math.max(...reach));
  let d = "";
  for (let i = 0; i <= POINTS + OVERLAP; i++) {
    const t = (i / POINTS) * 2 * Math.PI - 2.2;
    const wobble = 1 + lively * (0.035 * Math.sin(3 * t + n) + 0.022 * Math.sin(5 * t + 2 * n) + i * 0.0006);
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
