/** Words about the file itself. */
import { many, number } from "./figures";

export const master = {
  title: (pixels: number, bits: number) => `A picture of ${many(pixels)} pixels in ${bits} bits.`,
  picture: (name: string) => `${name}, the master as on screen`,
  grey: (name: string) => `${name} in grey: its colours are not known yet`,
  about: "About the file",
  size: (size: string, ppi: number) => `At ${size} it puts ${number(ppi)} of its own pixels on an inch.`,
  noSpace: "The file says nothing about its colours",
  noSpaceText:
    "It carries no profile, so it is shown in grey. Say which space it was made in; a guess could shift every colour.",
  spaces: "The space it was made in",
  space: {
    srgb: ["sRGB", "what most cameras, phones and the web write"],
    "display-p3": ["Display P3", "what newer phones and screens write"],
  } as Record<"srgb" | "display-p3", [string, string]>,
  spaceFile: "a profile file",
  spaceFileHint: "the ICC profile of the space it was made in",
  chosenFile: (name: string) => `from ${name}`,
  why: "Why it matters",
  whyText:
    "The numbers in a file mean colours only together with the space they were written in. " +
    "The same numbers are dull green in one space and strong green in another; nothing in the file tells which.",
  next: "Choose its paper",
  back: "To the paper",
  other: "Lay down another picture",
  fingerprint: "Fingerprint",
  facts: {
    pixels: "Pixels",
    space: "Space",
    bits: "Bits",
    taken: "Taken",
  },
  pixels: (width: number, height: number) => `${number(width)} × ${number(height)}`,
  bits: (bits: number, floating: boolean) => (floating ? `${bits}, floating point` : String(bits)),
  read: "The file is known; nothing has been changed in it.",
};
