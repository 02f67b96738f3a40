/** Loops of a marker round the tiles of a test sheet: whole round the best, broken round the next best. */

/** A box on the sheet in millimetres from its upper left corner. */
export interface BoxMm {
  x: number;
  y: number;
  width: number;
  height: number;
}

const EXPONENT = 9;
const STEPS = 260;
const OVERLAP = 15;
const START = -1.95;

/** How far a loop stands off its tile at the sides and above, and what lies under it (code and boxes), in mm. */
export const OFF_MM = 1.5;
const ABOVE_MM = 0.4;
export const FOOT_MM = 3.9;

/** What a loop goes round: the tile with the line of words under it. */
export function looped(tile: BoxMm): BoxMm {
  return {
    x: tile.x - OFF_MM,
    y: tile.y - ABOVE_MM,
    width: tile.width + 2 * OFF_MM,
    height: tile.height + ABOVE_MM + FOOT_MM + OFF_MM - 1,
  };
}

/** A closed loop drawn by hand, overlapping its start a little; the wobble belongs to `n`, so it never jumps. */
export function loopPath(box: BoxMm, n: number): string {
  const [rx, ry] = [box.width / 2, box.height / 2];
  const [cx, cy] = [box.x + rx, box.y + ry];
  let path = "";
  for (let i = 0; i <= STEPS + OVERLAP; i++) {
    const t = (i / STEPS) * 2 * Math.PI + START;
    const wobble = 1 + 0.006 * Math.sin(3 * t + n) + 0.005 * Math.sin(5 * t + 2 * n) + i * 0.0001;
    const flat = (Math.abs(Math.cos(t)) ** EXPONENT + Math.abs(Math.sin(t)) ** EXPONENT) ** (-1 / EXPONENT);
    const x = cx + rx * wobble * flat * Math.cos(t);
    const y = cy + ry * wobble * flat * Math.sin(t);
    path += `${i ? "L" : "M"}${x.toFixed(2)} ${y.toFixed(2)}`;
  }
  return path;
}
