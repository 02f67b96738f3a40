/** Help: how it goes, the keys, what to beware of. */
export const help = {
  title: "Help",
  heading: "How a picture gets to the wall",
  how: [
    "You lay a finished picture on the table and say how large it will hang, on which paper and in which light. The page shows the print as an object on the grey table and says, worst first, what the paper will do to it: each sentence has its figure, and the place can be shown.",
    "A screen glows and paper does not, so the last word belongs to a test sheet. It is small, its tiles are your picture with stated changes, and you say which one looks right: at the desk, or on a phone at the wall. From that the page knows how far the print will land from what you want, and whether one more sheet would pay.",
    "Then the file is made, with a card that says how to print it. Everything is on record: the same print can be made again next year. Your picture’s file is only ever read.",
  ],
  keysHeading: "Keys",
  keysIntro: "They work outside text fields.",
  keys: [
    ["T", "true size: the print as large as it will be"],
    ["L", "look closer, to single pixels of the print"],
    ["H", "hatching where the paper loses something"],
    ["M", "hold: the picture as on screen"],
  ] as readonly (readonly [string, string])[],
  keysTest: "On a test sheet, type a tile’s code, such as B 2: first the best, then the next best.",
  keysOn: "Keys are on",
  keysOff: "Keys are off",
  keysTurnOff: "Switch the keys off",
  keysTurnOn: "Switch the keys on",
  cautionHeading: "What to beware of",
  cautions: [
    "Judge prints dry: an hour after printing at the earliest, a day is better.",
    "Judge them in the light they will hang in; daylight and a lamp show two different prints.",
    "A print that looks too dark mostly means a screen that is too bright.",
    "Matt paper has no deep black. What the page calls black there is the darkest the ink gets.",
    "A paper without a profile is a guess, and so is all that is said of it.",
  ],
  privateHeading: "What stays here",
  privacy:
    "The page is served by this computer to itself. No picture, name or figure leaves it, and nothing is fetched from elsewhere.",
  commandsHeading: "Without this page",
  commands: "All of it can be done from the command line too:",
  command: "wallworthy --help",
};
