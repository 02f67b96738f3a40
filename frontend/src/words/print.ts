/** Print: the sheet with its measures, the way it leaves, the file being made, the card that goes with it. */
export const print = {
  title: "The print on its sheet",
  sending: "How it leaves",
  picture: "The picture as it should look printed",

  // the sheet
  drag: "Drag an edge of the picture, or",
  type: "type the borders",
  noBorder: "No bare paper round it yet.",
  sides: ["top", "right", "foot", "left"] as const,
  sideLabel: (side: string, unit: string) => `Border at the ${side}, in ${unit}`,
  borderEqual: "Equal borders",
  borderFooted: "Heavier at the foot",
  borderSet: "Set it",
  borderNone: "No border",
  borderWrong: "A border is a number, 0 or more.",

  // the heading is a finding
  readyNumbers: (pixels: string) =>
    `Ready. This leaves as ${pixels} pixels, made for this paper. Nothing after it may convert its colour again.`,
  readyStandard: (pixels: string) =>
    `Ready. This leaves as ${pixels} pixels in sRGB. The lab or the driver turns them into ink, once.`,
  untested: "No test sheet has been judged. The file holds the picture as the proof shows it.",
  testFirst: "Make a test sheet first",
  // ways
  waysLabel: "How the file leaves",
  ways: {
    numbers: [
      "As a file with this paper’s own numbers",
      "For your printer, or a lab that takes its own profile. Colour management off.",
    ],
    standard: [
      "As a standard sRGB file",
      "For a lab or a driver that converts by itself. What it can’t hold is counted.",
    ],
  } as Record<string, readonly [string, string]>,
  onlyStandard: "This paper is a guess without a profile, so there are no numbers of its own to send.",

  // the file, as a sentence
  file: {
    a: "A",
    file: "file of",
    at: "at",
    perInch: "pixels per inch,",
    dot: ".",
    formatLabel: "Format",
    bitsLabel: "Bits",
    ppiLabel: "Pixels per inch",
    sharpenLabel: "Sharpening",
    formats: { tiff: "TIFF", png: "PNG", jpeg: "JPEG" } as Record<string, string>,
    bits: (bits: number) => `${bits} bits`,
    sharpen: { auto: "sharpened for this paper", none: "not sharpened" } as Record<string, string>,
  },
  // making it
  make: "Make the file",
  makeAgain: "Exactly the last one again",
  makeOther: "Make another",
  costs: (size: string, money: string | null) =>
    money
      ? `Printing it takes one sheet of ${size}, ${money}.`
      : `Printing it takes one sheet of at least ${size}.`,
  left: (count: number) => `Then ${count === 1 ? "one sheet is" : `${count} sheets are`} left.`,
  nothingSpent: "Making the file spends no paper.",
  workTitle: (percent: number) => `Making the file, ${percent} %`,
  waiting: "Waiting for its turn",
  waitingMore: "It begins as soon as the work before it is done.",
  workGrows: "The picture grows here as its lines are written.",
  mayClose: "You may close this page; the work goes on and is found here again.",
  nothingYet: "Nothing written yet. The picture appears here line by line.",
  cancel: "Cancel it",
  cancelled: "It was cancelled; no file was left behind.",

  // done
  done: "The file is ready.",
  doneMore: (file: string, size: string) =>
    `${file}, ${size}. Print it after its card; measure the print with a ruler first of all.`,
  fetch: "Fetch the file",
  fetchCard: "Fetch its card",
  itsCard: "its card",
  madeAt: (time: string) => `made ${time}`,
  earlier: "Made before",
  stale: "Something was changed since, so this file is no longer what the ticket says.",
  staleTitle: "The last file is out of date.",

  // the card
  card: (ticket: string) => `Job card, ${ticket}`,
  cardFacts: {
    pixels: "Pixels",
    sharpened: "Sharpened",
    profile: "Profile",
    fit: "Fit",
    tone: "Greys",
    correction: "Correction",
  },
  pixels: (width: string, height: string, ppi: number, bits: number) =>
    `${width}\u00a0×\u00a0${height} at ${ppi}\u00a0ppi, ${bits}\u00a0bits`,
  sharpenedFor: (distance: string) => `for this paper, from ${distance}`,
  notSharpened: "not at all",
  noCorrection: "none: the fit as it is",
  fits: {
    whole: "whole, chosen for this picture",
    detail: "detail, chosen for this picture, texture drawn out",
    perceptual: "perceptual, as the profile has it",
    relative: "relative to the paper",
    "relative-bpc": "relative to the paper, black to black",
    absolute: "absolute, paper colour included",
  } as Record<string, string>,
  guess: "a guess, made without measuring",
  driver: "When you print the file:",
  lab: "When a lab prints it:",
  steps: {
    numbers: [
      "Colour management off, in program and driver.",
      "Media as the profile was made for.",
      "Finest quality; every automatic improvement off.",
      "Scale 100 %; not fitted to the page.",
    ],
    standard: [
      "Convert once: the driver or the lab, never both.",
      "Every automatic correction off.",
      "Scale 100 %; not fitted to the page.",
    ],
  } as Record<string, readonly string[]>,
  /** The tone of black and white, which is in the file. */
  tones: {
    neutral: "neutral",
    "paper-warm": "warm",
    cool: "cool",
    split: "cool below, warm above",
  } as Record<string, string>,
  greySteps: {
    numbers: [
      "Colour management off, in program and driver.",
      "Media as the profile was made for.",
      "Finest quality, colour mode: no automatic improvement, no toning.",
      "Scale 100 %; not fitted to the page.",
    ],
    standard: [
      "Convert once: the driver or the lab, never both.",
      "As a colour print, no greyscale mode; every automatic correction off.",
      "Scale 100 %; not fitted to the page.",
    ],
  } as Record<string, readonly string[]>,
  wholeCard: "The whole card",
  mistakes: "What a mistake looks like on paper",
  cautions: "How to treat the print",
};
