/** The part of a sheet that was printed this time: the quarter its tiles lie in, or all of it. */
import type { BoxMm } from "../../draw/tileloops";
import type { SheetView } from "./records";

export function areaOf(sheet: SheetView): BoxMm & { quarter: number | null } {
  const [width, height] = sheet.sheet_mm;
  const right = sheet.tiles.every(({ box_mm: [x] }) => x >= width / 2);
  const left = sheet.tiles.every(({ box_mm: [x, , wide] }) => x + wide <= width / 2);
  const lower = sheet.tiles.every(({ box_mm: [, y] }) => y >= height / 2);
  const upper = sheet.tiles.every(({ box_mm: [, y, , high] }) => y + high <= height / 2);
  if (sheet.mode !== "tiles" || left === right || upper === lower)
    return { x: 0, y: 0, width, height, quarter: null };
  return {
    x: right ? width / 2 : 0,
    y: lower ? height / 2 : 0,
    width: width / 2,
    height: height / 2,
    quarter: 1 + (right ? 1 : 0) + (lower ? 2 : 0),
  };
}
