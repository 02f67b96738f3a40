/** Words of the first visit and of every later one. */
import { bytes, number } from "./figures";

export const home = {
  title: "Lay a finished picture here.",
  lead:
    "It makes a journey from this file to a print on your wall. At every step you are told what the paper will do " +
    "to it, and what would help. You need a printer or a lab only at the fifth step.",
  choose: "Choose a file",
  orDrop: "or drop it anywhere on this page",
  begin: "Begin",
  demo: "The demo",
  demoPicture: "The demo’s picture on warm cotton paper: a bay at dusk with a meadow of flowers in front",
  demoTitle: "Or walk once with ours",
  demoText:
    "An invented picture, its papers, a printer that exists only in numbers and an eye with its own taste. " +
    "Not a drop of ink.",
  demoGo: "Walk through the demo",
  demoMaking: "The demo is being laid out",
  demoStep: (step: string, share: number) =>
    share < 0.005 ? `${step} …` : `${step}, ${number(share * 100)} %`,
  cancel: "Cancel",
  goOnText: (condition: string, size: string, stage: string) =>
    `${size} on ${condition}, open at the ${stage}.`,
  goOnGo: "Go on",
  last: "Your last print",
  allTickets: (count: number) => `All ${number(count)} prints on the shelf`,
  reading: "Reading the master",
  readingOf: (done: number, total: number) => `${bytes(done)} of ${bytes(total)}.`,
  coarse: "A coarse view lies here at once; it is known in full when all of it is read.",
  readingProfile: "Reading the profile",
  coarseAlt: "A first, coarse view of the picture",
  bar: "Reading",
  refused: "This file can’t be used",
  profileHere: (name: string) => `The profile in ${name} is at hand. Now lay a picture beside it.`,
  promises: [
    ["It stays here", "Nothing leaves this computer unless you send it."],
    [
      "The master is never touched",
      "It is read by its own profile, known by its fingerprint and left alone.",
    ],
    [
      "Any usual file",
      "TIFF, PNG, JPEG, JPEG XL, AVIF, HEIF, in 8, 16 or 32 bits. Printer profiles too, zipped or not.",
    ],
  ] as [string, string][],
};
