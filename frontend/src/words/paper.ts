/** Words of the order: size, paper, distance, light, border. */
import { capital, fixed, listed, number } from "./figures";

const PLACES = ["", "", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"];

export const paper = {
  /** The order read aloud; the choices stand between these parts. */
  order: {
    print: "Print it",
    onSize: "on",
    seen: "to be seen from",
    light: "in this light:",
    border: "with",
    end: ".",
  },
  size: "Size of the picture",
  fill: "How it lies in the size",
  whole: "whole",
  filled: "cut to fill it",
  distance: "Viewing distance",
  light: "Light",
  border: "Border",
  anyLight: "even daylight",
  ownSize: "another size …",
  ownSizeHint: "30x40cm",
  ownDistance: "another distance …",
  ownDistanceHint: "60cm",
  ownBorder: "another border …",
  borderNone: (typed: string) => `‘${typed}’ is no border I can print.`,
  borderMend: "Write a width such as 2 cm, 25 mm or 1 in, no wider than 50 cm.",
  diagonal: (distance: string) => `its own diagonal, ${distance}`,
  noBorder: "no border",
  borderFooted: (width: string, foot: string) => `a border of ${width}, ${foot} at the foot`,
  bordersOf: (least: string, most: string) => `borders of ${least} to ${most}`,
  borderOf: (width: string) => `a border of ${width}`,
  named: (name: string, size: string) => `${name}: ${size}`,
  withBorder: (sheet: string) => `With its border it needs a sheet of ${sheet}.`,
  density: (ppi: number) => `It puts ${number(ppi)} of its own pixels on an inch.`,
  papers: "Your papers",
  /** Papers ranked for the picture. A heading is a verdict. */
  rank: {
    best: (name: string) => `${name} holds it best`,
    alike: (name: string) => `${name} holds it as well`,
    place: (name: string, place: number) =>
      PLACES[place] ? `${name} comes ${PLACES[place]}` : `${name} comes after them`,
    trying: "Trying it on your papers. You may go on meanwhile.",
    tryingAgain: "Trying your papers for the new order.",
    bestFirst: (light: string | null, distance: string) =>
      `Best first, as it looks ${light ? `under ‘${light}’` : "in even daylight"} from ${distance}.`,
    asFound: "They lie as you found them, not best first.",
    layBestFirst: "Lay the best first",
    noPlace: "No place in the picture stands out for what it loses.",
    loses: (loss: number, more: number, light: string | null) =>
      `loses ${fixed(loss, 1)} ΔE00 on average${light ? " in this light" : ""}${more >= 0.05 ? `, ${fixed(more, 1)} more` : ""}`,
    line: (names: string) => `Visible loss of the picture on each paper, ΔE00: ${names}.`,
    point: (name: string, loss: number) => `${name} ${fixed(loss, 1)}`,
    lineWords: ["nothing lost", "seen side by side", "seen when told", "seen at once", "another picture"],
    guess: "a guess",
    guesses: (names: string[]) =>
      names.length === 1
        ? `${capital(names[0]!)} is a guess: its place may be one or two off.`
        : `${capital(listed(names))} are guesses: their places may be one or two off.`,
  },
  asOnScreen: "The proof shows what a paper makes of it.",
  shownAsOnScreen: "shown as on screen",
  through: (condition: string) => `The picture on ${condition}`,
  screenOn: (condition: string) => `The picture as on screen, on the white of ${condition}`,
  tones: (condition: string) => `Darkest tones of ${condition}`,
  facts: (
    guess: string,
    loss: string,
    black: number,
    stops: number,
    weight: number | null,
    sheets: number | null,
  ) =>
    [
      guess,
      loss,
      `darkest black L* ${number(black)}`,
      `range ${number(stops, 1)} stops`,
      weight === null ? "" : `${number(weight)} g`,
      sheets === null ? "" : `${number(sheets)} sheets left`,
    ]
      .filter(Boolean)
      .map((fact) => fact.replaceAll(" ", "\u00a0").replace(",\u00a0", ", "))
      .join(" · "),
  guess: "A guess, for want of a profile: expect more than one test sheet.",
  blackWord: (lightness: number) =>
    lightness < 8
      ? "Its blacks are deep."
      : lightness < 14
        ? "Its blacks are dark."
        : "Its blacks open to charcoal.",
  whiteWord: (b: number) =>
    b > 2.5 ? "Its white is warm." : b < -2 ? "Its white is cool." : "Its white is neutral.",
  numbersWay: "Finals leave as the printer’s own values.",
  standardWay: "Finals leave in a standard space; the printer or the lab converts.",
  generic: {
    gloss: "Some gloss paper",
    lustre: "Some lustre paper",
    matt: "Some matt paper",
  } as Record<string, string>,
  /** What papers of a kind have in common, by common practice. */
  genericText: {
    gloss: "Its blacks are deepest, and it mirrors every lamp and window.",
    lustre: "Its blacks are deep; it shines half as much as gloss.",
    matt: "Its blacks open to charcoal, and nothing shines on it.",
  } as Record<string, string>,
  genericAll: "Without a profile a paper is a guess: expect more than one test sheet.",
  other: "Another paper",
  otherText: "Drop its profile anywhere on this page, as an ICC file or zipped as it was downloaded.",
  otherGuess: "No profile at hand? Take",
  otherKinds: { gloss: "gloss", lustre: "lustre", matt: "matt" } as Record<string, string>,
  otherOr: "or",
  otherEnd: "as a guess, and expect more than one test sheet.",
  printOn: "Print on this",
  onThis: "This is its paper",
  choosing: "Laying it on the paper ...",
  profile: "Have a printer’s or lab’s profile?",
  profileText: "Drop it anywhere on this page, as an ICC file or zipped as it was downloaded.",
  profileChoose: "Choose a profile",
  profileFound: (name: string, count: number) =>
    count === 1 ? `${name} holds one profile.` : `${name} holds ${number(count)} profiles. Which one?`,
  profileNone: (name: string) => `${name} holds no profile that a print can be made with.`,
  toProof: "To the proof",
  changeTitle: "What the print will be",
};
