/** Dimension lines of a sheet and its picture, in pixels. */

export interface Segment {
  path: string;
  /** The end marks, or the helping lines to what is measured. */
  marks: string;
  text: string;
  x: number;
  y: number;
  upright: boolean;
  strong: boolean;
}

export interface Frame {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

const GAP_PER_LETTER = 4.2;

/** A line from `from` to `to` at height (or, upright, at place) `at`, broken in its middle for its words. */
export function dimension(
  from: number,
  to: number,
  at: number,
  text: string,
  upright: boolean,
  strong: boolean,
): Segment {
  const middle = (from + to) / 2;
  const gap = Math.min((to - from) / 2, text.length * GAP_PER_LETTER + 8);
  const d = (a: number, b: number) => (upright ? `M${at} ${a}V${b}` : `M${a} ${at}H${b}`);
  const mark = (a: number) => (upright ? `M${at - 4} ${a}h8` : `M${a} ${at - 4}v8`);
  return {
    path: `${d(from, middle - gap)}${d(middle + gap, to)}`,
    marks: `${mark(from)}${mark(to)}`,
    text,
    x: upright ? at : middle,
    y: upright ? middle : at,
    upright,
    strong,
  };
}

/** A short line with an arrowhead at both ends: a border. */
export function arrow(from: number, to: number, at: number, upright: boolean): string {
  const head = Math.min(4, Math.abs(to - from) / 3);
  const line = upright ? `M${at} ${from}V${to}` : `M${from} ${at}H${to}`;
  const tip = (a: number, sign: number) =>
    upright
      ? `M${at - 3} ${a + sign * head}L${at} ${a}L${at + 3} ${a + sign * head}`
      : `M${a + sign * head} ${at - 3}L${a} ${at}L${a + sign * head} ${at + 3}`;
  return `${line}${tip(from, 1)}${tip(to, -1)}`;
}
