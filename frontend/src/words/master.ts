/** Words about the file itself. */
export const master = {
  lost: {
    gone: "The master’s file is no longer where it was.",
    changed: "The master’s file has changed since this print was begun.",
  },
  lostText: (name: string) =>
    `Nothing else is lost. Lay ${name} here as it was, from wherever it is now: it is known by its content, whatever it is called, and a copy is kept.`,
  lostChoose: "Choose the file",
  lostReading: "Reading it ...",
  picture: (name: string) => `${name}, the master as on screen`,
  grey: (name: string) => `${name} in grey: its colours are not known yet`,
  about: "About the file",
  noSpace: "The file says nothing about its colours",
  noSpaceText:
    "It carries no profile, so it is shown in grey. Say which space it was made in; a guess could shift every colour.",
  spaces: "The space it was made in",
  space: {
    srgb: ["sRGB", "what most cameras, phones and the web write"],
    "display-p3": ["Display P3", "what newer phones and screens write"],
  } as Record<"srgb" | "display-p3", [string, string]>,
  /** What is offered for a picture in grey. */
  greySpace: {
    grey: ["Grey as in sRGB", "the curve in which most programs write grey"],
  } as Record<"grey", [string, string]>,
  noSpaceGrey: "The file says nothing about its greys",
  noSpaceGreyText:
    "It carries no profile. Say in which curve it was made; a guess could make it lighter or darker throughout.",
  toldBefore: (name: string) =>
    `The file does not say it; it is taken as ${name}, as you said of this picture before. Choose anew if that was wrong.`,
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
  read: "The file is known; nothing has been changed in it.",
};
