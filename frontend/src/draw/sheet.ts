/** A sheet of paper with its picture, in true proportions. */

export type MarginsMm = readonly [top: number, right: number, bottom: number, left: number];

export const sameAllRound = (marginsMm: MarginsMm): boolean => marginsMm.every((mm) => mm === marginsMm[0]);

/** Width and height of the paper. */
export function sheetMm(pictureMm: readonly [number, number], marginsMm: MarginsMm): [number, number] {
  const [top, right, bottom, left] = marginsMm;
  return [pictureMm[0] + left + right, pictureMm[1] + top + bottom];
}

/** The scale at which several sheets stand side by side, in pixels per millimetre: the largest just fits. */
export function commonScale(
  sheetsMm: readonly (readonly [number, number])[],
  tallestPx: number,
  widestPx: number,
): number {
  const high = Math.max(1, ...sheetsMm.map(([, height]) => height));
  const wide = Math.max(1, ...sheetsMm.map(([width]) => width));
  return Math.min(tallestPx / high, widestPx / wide);
}
