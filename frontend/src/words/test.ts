import type { Grade } from "./axes";
import { set } from "./figures";

/** Test: the sheet in the hand, what the eye says of it, what that teaches. */
export const test = {
  title: (sheet: number) => `Test sheet ${sheet}`,
  verdictTitle: "Your verdict",

  // making a sheet
  none: "A small sheet shows more than any screen.",
  noneMore:
    "Its tiles are this picture, each with a stated change. Print it as you will print the picture, let it dry, and say which tile looks right.",
  make: "Make a test sheet",
  cancelMaking: "Cancel it",
  making: "The sheet is being drawn.",
  makingStep: (waits: boolean, percent: number): string =>
    waits
      ? "It waits for its turn."
      : percent
        ? `Drawing the sheet, ${percent} %.`
        : "Looking at the picture first.",
  sentence: {
    sheetOf: "A sheet of",
    with: "with",
    dot: ".",
    typed: "another size",
    sizeLabel: "Size of the sheet",
    modeLabel: "What lies on it",
    typedLabel: "Its size, such as 13x18cm",
  },
  sizes: [
    ["10x15cm", "10 × 15 cm"],
    ["9x13cm", "9 × 13 cm"],
    ["13x18cm", "13 × 18 cm"],
    ["A5", "A5"],
    ["A4", "A4"],
    ["A3", "A3"],
  ] as readonly (readonly [string, string])[],
  modes: {
    tiles: "tiles side by side",
    quarter: "tiles on its next free quarter",
    whole: "the whole picture once",
    prints: "six small prints, for a lab that trims",
  } as Record<string, string>,
  modeWhy: {
    tiles: "Most is learned from tiles: the eye compares better than it remembers.",
    quarter:
      "The large sheet goes through the printer up to four times, a quarter each. Keep it flat, and feed the edge the arrow points to.",
    whole: "One picture tells less than tiles, but shows the whole as it will hang.",
    prints: "Each print is a file of its own. Ask the lab to switch its automatic correction off.",
  } as Record<string, string>,
  takes: (minutes: number) =>
    `It takes one sheet and ${minutes === 60 ? "an hour" : `${minutes} minutes`}, most of it drying.`,
  takesQuarter: (minutes: number) =>
    `It takes a quarter of a sheet and ${minutes === 60 ? "an hour" : `${minutes} minutes`}, most of it drying.`,
  costs: (money: string) => `The sheet costs ${money}, as you priced it.`,
  // the sheet
  sheetLabel: (sheet: number, tiles: number) =>
    `Test sheet ${sheet} as it should look printed, with ${tiles === 1 ? "one picture" : `${tiles} tiles`}`,
  tile: (code: string) => `Tile ${code}`,
  tileBest: (code: string) => `Tile ${code}, best`,
  tileNext: (code: string) => `Tile ${code}, next best`,
  picture: "The picture",
  otherSheets: "Sheets",
  quarterNo: (quarter: number, sheet: string) =>
    `${["Upper left", "Upper right", "Lower left", "Lower right"][quarter - 1]} quarter of a sheet of ${sheet}.`,
  sheetNo: (sheet: number) => `Sheet ${sheet}`,
  dry: (time: string) => `It is dry since ${time}.`,
  notDry: (time: string) => `Not yet dry: judge it from ${time}.`,
  holdIt: (light: string | null) =>
    light
      ? `Hold the paper where it will hang, in this light: ${light}. Judge the paper, not this screen.`
      : "Hold the paper where it will hang, in the light of that place. Judge the paper, not this screen.",
  download: "Fetch the sheet’s file",
  downloadOf: (code: string) => `Fetch ${code}`,
  phone: "Judge on a phone",
  phoneScan: "Point the phone’s camera at this mark; the page opens there without pictures.",
  phoneUntil: (time: string) => `It is good until ${time}, for this ticket only.`,
  phoneNoLan: "A phone can’t reach this page yet.",
  phoneHow: "Start the page so that phones in your network may judge sheets:",
  phoneCommand: "wallworthy open --lan",
  phoneMark: "Mark that opens the verdict on a phone",
  close: "Put it away",
  changes: "Show what each tile changes",
  changesCaption: "What each tile changes, beyond the plain fit",
  changesNothing: "nothing: the fit as it is",
  changesWished: "What each tile changes, beyond what you wished on the proof",
  changesAsWished: "nothing: the print as you wished it",
  changesUnwished: "the fit as it is, without what you wished",
  wishedHere: (code: string) =>
    `${code} is the print as you wished it on the proof. A verdict takes the place of that wish.`,
  printedAs: "Print it as you will print the picture, at 100 %, with every automatic improvement off.",

  // the verdict
  which: "Which tile looks right?",
  whole: "Does it look right?",
  howTo: "Choose the best, then the next best, or type their codes.",
  howToWhole: "Say what is off, or that it is right.",
  best: "best",
  next: "next best",
  bestIs: "Best is",
  then: ", then",
  is: "is",
  stop: ".",
  semicolon: ";",
  noneYet: "…",
  bestLabel: "The best tile",
  nextLabel: "The next best tile",
  noNext: "none",
  sayMore: "Say more of a tile",
  sayOf: (code: string) => `What is wrong with ${code}?`,
  sayOfWhole: "What is wrong with it?",
  sayTile: "Of which tile",
  sayWhat: "What is wrong with",
  it: "It",
  gradeLabel: "How much",
  grades: { "a touch": "a touch", "": "plainly", clearly: "clearly" } as Record<Grade, string>,
  done: "That is all of it",
  noneRight: "None is right",
  noneRightSaid: "None of them is right.",
  cantTell: "I can’t tell them apart",
  cantTellSaid: "I can’t tell them apart.",
  between: "It lies between two",
  betweenSaid: "The right one lies between",
  and: "and",
  right: "It is right as it is",
  rightSaid: "It is right as it is.",
  clear: "Begin again",
  send: "Take this verdict",
  sendAgain: "Take it so instead",
  sending: "Weighing what that says ...",
  // what it teaches
  canPrint: "You can print it now.",
  oneMore: "One more sheet pays.",
  landsAt: (expected: string, bound: string) =>
    `It should land ${expected} ΔE00 from what you want, nine times in ten within ${bound}.`,
  anotherBrings: (after: string, cost: string) => `One more sheet would bring that to ${after}, for ${cost}.`,
  anotherHardly: "Another sheet would hardly bring it closer.",
  sheetAt: (size: string, money: string) => `one sheet of ${set(size)} at ${money}`,
  oneSheet: "one sheet",
  costOfSheet: (sheet: string, minutes: number) =>
    `${sheet} and ${minutes === 60 ? "an hour" : `${minutes} minutes`}`,
  printNow: "Print it now",
  oneMoreSheet: "Make one more sheet",
  printCosts: (cost: string) => `Printing takes ${cost}.`,
  aSheetOf: (size: string) => `a sheet of ${size}`,
  aSheetAt: (size: string, money: string) => `a sheet of ${set(size)} at ${money}`,
  withoutSheet: "Print it without a test sheet",
  bars: {
    before: "before this sheet",
    now: "now",
    after: "after one more",
    unseen: "not seen",
    unit: "ΔE00",
  },
  barsLabel: (before: string | null, now: string, bound: string, after: string) =>
    `Expected difference from what you want: ${before ? `before the sheet ${before}; ` : ""}now ${now}, nine in ten within ${bound}; after one more sheet ${after}. Below 1 you would not see it.`,
  barsCaption: "Expected difference from what you want, ΔE00",
  barsHead: ["", "expected", "nine in ten within"],
  contradicts: "This contradicts what was said before.",
  taught: "What it taught:",
  taughtNothing: "What it taught: the fit is right as it is.",
  taughtBeyond: "What it taught, beyond what you wished on the proof:",
  taughtAsWished: "What it taught: the print is right as you wished it.",
  taughtMore: (size: string) =>
    `The print of ${size} is made so, and the next picture on this paper in this light starts near it.`,
  house: "Look at the house correction",
  houseStarts: (pictures: number, remedies: string) =>
    pictures === 0
      ? "Nothing has been judged on this paper in this light yet: a picture starts as the fit leaves it."
      : `${pictures === 1 ? "One picture was" : `${pictures} pictures were`} judged on this paper in this light. The next one starts ${remedies || "as the fit leaves it"}.`,
  houseNumbers: "In figures",
  houseAxis: ["", "starts at", "unsure by"],
  houseReset: "Forget what was learned here",
  houseChanged: "Ink or paper has changed",
  houseChangedWhat: "What has changed",
  houseChangedSay: "Note it",
  houseChangedHint: "a new lot of paper",

  // reading a scan
  dropIt:
    "Or lay a scan or a photo of the sheet here. It is measured, and a fault in printing gets its name.",
  choose: "Choose a scan",
  reading: "Reading the scan ...",
  readFault: (percent: number) =>
    percent >= 99
      ? "Practically every print that looks like this has this fault."
      : `${percent} in a hundred prints that look like this have this fault.`,
  readGood: "The print is what was promised.",
  readNotFound: "The sheet was not found in this picture.",
  readOther: "It could also be:",
  readMean: (mean: string, error: string | null) =>
    `The tiles lie ${mean} ΔE00 from what was expected${error ? `; the measuring itself is good to ${error}` : ""}.`,
  readRelative: "Measured relative to the paper: an ordinary scan can’t tell the paper’s own colour.",
  readScale: (percent: string, long: boolean) => `Lengths are ${percent} % too ${long ? "long" : "short"}.`,
  readTicks: "Ticked in pencil:",
  readTaken: "The ticks were taken as your verdict.",
  readNotTaken: {
    ticks_unclear: "The ticks were not taken as a verdict: they can’t all be meant. Say it in words instead.",
    ticks_waiting:
      "No print is ticked as the best yet, so nothing was taken. Lay the scans of the others here.",
    ticks_of_a_faulty_print:
      "Ticks on a print that did not come out as it was meant were not taken as a verdict: they would mend that instead of the picture.",
  } as Record<string, string>,
  readTable: "Tile by tile",
  readCaption: "Tiles as expected and as measured, Lab",
  readHead: ["tile", "expected", "measured", "ΔE00"],
  readLine: (worst: string, value: string) =>
    `Tiles by their difference; ${worst} lies farthest off, ${value} ΔE00.`,
  lossWords: ["none", "not seen", "side by side", "seen", "plain"],
  faultNames: {
    as_expected: "The print is as expected.",
    profile_twice: "Its colours were converted twice.",
    profile_not_applied: "The profile was not applied.",
    wrong_profile: "It was made for another paper.",
    driver_adjustment: "The printer’s driver changed it.",
    ink_missing: "An ink is missing.",
    ink_weak: "An ink is weak.",
    banding: "The printer leaves stripes.",
    wrong_size: "It was printed at another size.",
    wrong_side: "It lies on the paper’s wrong side.",
    lab_auto_correction: "The lab corrected it by itself.",
  } as Record<string, string>,
};
