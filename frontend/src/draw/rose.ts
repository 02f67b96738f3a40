/** The chroma rose: by hue of CIELAB, how far the picture reaches and how far the paper does. */
import type { RoseFigures } from "../api/types";

/** C* at the rose's rim when nothing reaches further. */
const RIM = 72;
const NOTHING = 0.5;
/** A spoke passes the paper when it reaches further by more than this, in C*. */
const PASSES = 1;
const NAMED: readonly [number, string, "start" | "middle" | "end"][] = [
  [10, "rose", "start"],
  [55, "orange", "start"],
  [92, "yellow", "middle"],
  [145, "green", "end"],
  [200, "cyan", "end"],
  [275, "blue", "middle"],
  [312, "violet", "start"],
];

export interface Spoke {
  degrees: number;
  picture: number;
  paper: number;
  held: string;
  lost: string | null;
}

export interface Hue {
  name: string;
  anchor: "start" | "middle" | "end";
  x: number;
  y: number;
  dotX: number;
  dotY: number;
  colour: string;
}

const point = (reach: number, angle: number): [number, number] => [
  reach * Math.cos(angle),
  -reach * Math.sin(angle),
];
const at = ([x, y]: [number, number]): string => `${x.toFixed(2)} ${y.toFixed(2)}`;

function wedge(from: number, to: number, inner: number, outer: number): string {
  const arc = (r: number, turn: number, end: number) => `A${r} ${r} 0 0 ${turn} ${at(point(r, end))}`;
  const start = inner > 0 ? `M${at(point(inner, from))}` : "M0 0";
  const back = inner > 0 ? `L${at(point(inner, to))}${arc(inner, 1, from)}` : "";
  return `${start}L${at(point(outer, from))}${arc(outer, 0, to)}${back}Z`;
}

export const rimOf = (figures: RoseFigures): number => Math.max(RIM, ...figures.picture, ...figures.paper);

/** The spokes as paths within a circle of `radius`. */
export function spokes(figures: RoseFigures, radius: number): Spoke[] {
  const scale = radius / rimOf(figures);
  const count = figures.picture.length;
  const half = (Math.PI / count) * 0.74;
  return figures.picture.flatMap((picture, i) => {
    if (picture < NOTHING) return [];
    const paper = figures.paper[i] ?? 0;
    const angle = (i / count) * 2 * Math.PI;
    const beyond = picture > paper + PASSES;
    return [
      {
        degrees: (i * 360) / count,
        picture,
        paper,
        held: wedge(angle - half, angle + half, 0, Math.min(picture, beyond ? paper : picture) * scale),
        lost: beyond ? wedge(angle - half, angle + half, paper * scale, picture * scale) : null,
      },
    ];
  });
}

/** The paper's reach as one closed line, smooth between the hues. */
export function outline(figures: RoseFigures, radius: number, points = 180): string {
  const paper = figures.paper;
  const scale = radius / rimOf(figures);
  const parts = Array.from({ length: points }, (_, k) => {
    const turn = (k / points) * paper.length;
    const i = Math.floor(turn);
    const part = turn - i;
    const ease = part * part * (3 - 2 * part);
    const reach = (paper[i % paper.length] ?? 0) * (1 - ease) + (paper[(i + 1) % paper.length] ?? 0) * ease;
    return at(point(reach * scale, (k / points) * 2 * Math.PI));
  });
  return `M${parts.join("L")}Z`;
}

/** Names and small dots at the rim: yellow on top (b*), rose at the right (a*). */
export function hues(names: string[], radius: number): Hue[] {
  return NAMED.map(([degrees, , anchor], i) => {
    const angle = (degrees / 180) * Math.PI;
    const [x, y] = point(radius + 13, angle);
    const [dotX, dotY] = point(radius + 4, angle);
    return { name: names[i] ?? "", anchor, x, y, dotX, dotY, colour: `oklch(0.68 0.15 ${degrees})` };
  });
}

/** The names of the hues where the picture passes the paper, in the order of the circle. */
export function passed(figures: RoseFigures, names: string[]): string[] {
  const count = figures.picture.length;
  const found = new Set<string>();
  figures.picture.forEach((picture, i) => {
    if (picture <= (figures.paper[i] ?? 0) + PASSES || picture < NOTHING) return;
    const degrees = (i * 360) / count;
    const apart = (named: number) => Math.min(Math.abs(named - degrees), 360 - Math.abs(named - degrees));
    const nearest = NAMED.reduce((best, one) => (apart(one[0]) < apart(best[0]) ? one : best));
    found.add(names[NAMED.indexOf(nearest)] ?? nearest[1]);
  });
  return names.filter((name) => found.has(name));
}
