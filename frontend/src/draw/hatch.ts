/**
 * Hatching of losses. Nested octaves of diagonal lines: every 12 px where a loss can be seen, every 6 where it is
 * plain, every 3 where it is heavy. A new octave falls between the old lines, so lines never break or shift, and
 * density alone carries the amount. Each line is a dark hair beside a light one: seen on any tone.
 */

/** Loss in dE00 at which each octave has faded in halfway. */
export const OCTAVES = [2, 4, 7] as const;
const FADE = 0.5;
/** The server's grey picture of the loss: value = dE00 x 12. */
export const VALUE_PER_DE00 = 12;
const DARK = 175;
const LIGHT = 150;

/** Which octave the line at u = (x + y) mod 12 belongs to, and whether it is its dark hair; null between lines. */
export function lineAt(u: number): { octave: 0 | 1 | 2; dark: boolean } | null {
  const dark = u % 3 === 0;
  if (u < 2) return { octave: 0, dark };
  if (u >= 6 && u < 8) return { octave: 1, dark };
  if ((u >= 3 && u < 5) || (u >= 9 && u < 11)) return { octave: 2, dark };
  return null;
}

function smooth(from: number, to: number, value: number): number {
  const t = Math.min(1, Math.max(0, (value - from) / (to - from)));
  return t * t * (3 - 2 * t);
}

/** How strong an octave's lines stand at a loss, 0-1. */
export const strength = (octave: 0 | 1 | 2, loss: number): number =>
  smooth(OCTAVES[octave] - FADE, OCTAVES[octave] + FADE, loss);

/** Draws the hatching over the whole canvas (its size in CSS pixels) from the server's grey picture of the loss. */
export function hatch(canvas: HTMLCanvasElement, loss: ImageBitmap): void {
  const width = (canvas.width = Math.max(1, Math.round(canvas.clientWidth)));
  const height = (canvas.height = Math.max(1, Math.round(canvas.clientHeight)));
  const context = canvas.getContext("2d", { willReadFrequently: true });
  if (!context) return;
  context.imageSmoothingQuality = "high";
  context.drawImage(loss, 0, 0, width, height);
  const image = context.getImageData(0, 0, width, height);
  const data = image.data;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const i = 4 * (y * width + x);
      const value = (data[i] ?? 0) / VALUE_PER_DE00;
      const line = value < OCTAVES[0] - FADE ? null : lineAt((x + y) % 12);
      const alpha = line ? strength(line.octave, value) : 0;
      const tone = line?.dark ? 0 : 255;
      data[i] = data[i + 1] = data[i + 2] = tone;
      data[i + 3] = alpha * (line?.dark ? DARK : LIGHT);
    }
  }
  context.putImageData(image, 0, 0);
}
