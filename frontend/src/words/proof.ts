/** Words of the proof: the light, the sentences, the wish, what can be done with the print on the table. */
import type { Axis, LengthUnit, Pair } from "../api/types";
import { STEP } from "./axes";
import { fixed, number, size } from "./figures";

/** One just noticeable step of an axis, and its value when nothing is asked. */
interface WishAxis {
  name: string;
  step: number;
  plain: number;
  /** Nine words, the middle one for what the fit gives. */
  steps: string[];
  value: (value: number) => string;
}

const signed = (value: number, digits: number, unit: string): string => {
  const size = fixed(Math.abs(value), digits);
  const sign = Number(size) === 0 ? "±" : value > 0 ? "+" : "−";
  return `${sign}${size} ${unit}`;
};
const times = (value: number): string => `× ${fixed(value, 2)}`;

export const wishAxes: Record<Axis, WishAxis> = {
  lightness: {
    name: "Lightness",
    step: STEP.lightness,
    plain: 0,
    steps: [
      "much darker",
      "clearly darker",
      "darker",
      "a touch darker",
      "as light as the fit",
      "a touch lighter",
      "lighter",
      "clearly lighter",
      "much lighter",
    ],
    value: (value) => signed(value, 1, "L*"),
  },
  shadow: {
    name: "Shadows",
    step: STEP.shadow,
    plain: 0,
    steps: [
      "much deeper",
      "clearly deeper",
      "deeper",
      "a little deeper",
      "as they are",
      "a little more open",
      "more open",
      "clearly more open",
      "wide open",
    ],
    value: (value) => signed(value, 1, "L*"),
  },
  contrast: {
    name: "Contrast",
    step: STEP.contrast,
    plain: 1,
    steps: [
      "much softer",
      "clearly softer",
      "softer",
      "a little softer",
      "as it is",
      "a little stronger",
      "stronger",
      "clearly stronger",
      "much stronger",
    ],
    value: times,
  },
  green_red: {
    name: "Green to red",
    step: STEP.green_red,
    plain: 0,
    steps: [
      "much greener",
      "clearly greener",
      "greener",
      "a touch greener",
      "no redder",
      "a touch redder",
      "redder",
      "clearly redder",
      "much redder",
    ],
    value: (value) => signed(value, 1, "a*"),
  },
  blue_yellow: {
    name: "Blue to yellow",
    step: STEP.blue_yellow,
    plain: 0,
    steps: [
      "much bluer",
      "clearly bluer",
      "bluer",
      "a touch bluer",
      "no yellower",
      "a touch yellower",
      "yellower",
      "clearly yellower",
      "much yellower",
    ],
    value: (value) => signed(value, 1, "b*"),
  },
  chroma: {
    name: "Colour",
    step: STEP.chroma,
    plain: 1,
    steps: [
      "much less colour",
      "clearly less colour",
      "less colour",
      "a little less colour",
      "the fit’s own colour",
      "a little more colour",
      "more colour",
      "clearly more colour",
      "much more colour",
    ],
    value: times,
  },
};

export const proof = {
  lights: "The light it will hang in",
  allLights: "all lights",
  fewerLights: "fewer lights",
  daylight: "D50, no lamp",
  print: (title: string) => `${title}, as this paper prints it`,
  master: (title: string) => `${title}, the master as on screen`,
  /** Scale of the print on the screen against its true size, when the screen's pixels have been measured. */
  ofTrueSize: (share: number) =>
    share >= 0.995 && share <= 1.005
      ? "At true size"
      : share < 1
        ? `${number(share * 100)} % of true size`
        : `${number(share, 1)} times true size`,
  sizeOf: (size: string) => `${size} when printed`,
  catchingUp: "catching up",
  settle: "Let the eye settle on the paper first.",
  showNow: "Show the picture now",
  trueSize: "True size",
  whole: "The whole print",
  closer: "Look closer",
  hatch: "Hatch the losses",
  asOnScreen: "As on screen",
  onPaper: "On the paper again",
  notes: "What this paper does to the picture",
  where: "Show me where",
  whereOf: (n: number) => `Show me where, number ${n}`,
  wish: "What you want of the print",
  less: (axis: string) => `${axis}: one step less`,
  more: (axis: string) => `${axis}: one step more`,
  typed: (axis: string) => `${axis} in numbers`,
  /** The wish as a sentence: the words before each step, and the end. */
  sentence: [
    { before: "I want it", axis: "lightness", after: "," },
    { before: "with shadows", axis: "shadow", after: "" },
    { before: "and contrast", axis: "contrast", after: ";" },
    { before: "", axis: "green_red", after: "," },
    { before: "", axis: "blue_yellow", after: "," },
    { before: "and with", axis: "chroma", after: "." },
  ] satisfies { before: string; axis: Axis; after: string }[],
  from: {
    zero: "",
    house: "It starts from what earlier verdicts on this paper have taught.",
    user: "",
  },
  suffer: {
    title: "What must not suffer?",
    touch: "Touch the place in the picture",
    touchHere: "Now touch it in the picture, or stroke over it",
    or: "or",
    nameIt: "name it",
    dot: ".",
    kinds: [
      ["shadows", "the shadows"],
      ["highlights", "the lights"],
      ["skin-like hues", "colours like skin"],
      ["reds", "the reds"],
      ["oranges", "the oranges"],
      ["yellows", "the yellows"],
      ["greens", "the greens"],
      ["cyans", "the cyans"],
      ["blues", "the blues"],
      ["violets", "the violets"],
      ["pinks", "the pinks"],
    ] as [string, string][],
    note: (n: number) => `the place of note ${n}`,
    place: (across: number, down: number) => {
      const words = [
        ["upper left", "top", "upper right"],
        ["left", "middle", "right"],
        ["lower left", "foot", "lower right"],
      ];
      return `the place at the ${words[down]?.[across] ?? "middle"}`;
    },
    letGo: "let it go",
    why: "What is named is kept first when the picture is squeezed into the paper; something else then pays, and it is said what.",
  },
  greys: {
    title: "Black and white",
    print: "Print it",
    dot: ".",
    label: "In colour, or in greys of which tone",
    inColour: "in its colours",
    asItIs: "as the file has its greys",
    tones: {
      neutral: "in neutral greys",
      "paper-warm": "in warm greys",
      cool: "in cool greys",
      split: "in greys cool below, warm above",
    } as Record<string, string>,
    greyMaster:
      "The file is grey. Its greys print as the paper’s profile mixes them; neutral greys are held to the paper’s own tint all the way down.",
  },
  offer: (light: string, lstar: number) =>
    lstar > 0
      ? `‘${light}’ wants the print about ${number(lstar, 1)} L* lighter: dark tones merge there.`
      : `‘${light}’ wants the print about ${number(-lstar, 1)} L* darker: dark tones part well there.`,
  takeOffer: "Make it so",
  makeTest: "Make a test sheet",
  toSheet: (n: number) => `On to sheet ${n}`,
  without: "Print without a test",
  numbers: "Show numbers",
  plain: "Back to the plain fit",
  telling: "Looking at what this paper does to every place of it.",
  thisLight: "What this light does",
  figures: "All figures",
  figureColumns: ["what", "how much"],
  figureRows: {
    out_of_range: "beyond the paper’s reach",
    loss_mean: "loss in even daylight, mean",
    loss_p95: "loss in even daylight, 95 % are below",
    loss_max: "loss in even daylight, at worst",
    range_before: "tones of the master",
    range_after: "tones of the print",
    out_of_display: "beyond this display",
    white_match: "paper as bright as a display’s white at",
    table: "this table’s own error, 99.9 % are below",
  },
  percent: (share: number) => (share > 0 && share < 1 ? "under 1 %" : `${number(share)} %`),
  de00: (value: number) => `${fixed(value, 1)} ΔE00`,
  tones: (from: number, to: number) => `L* ${number(from)} to ${number(to)}`,
  candela: (value: number) => `${number(value)} cd/m²`,
  way: "How it is squeezed in",
  ways: {
    whole: ["Chosen for this picture: tones and texture kept, hues held", "whole"],
    detail: ["The same, and fine texture drawn out where the paper flattens it", "detail"],
    perceptual: ["As the profile’s maker drew it", "perceptual"],
    relative: ["Colours kept where they fit, the rest cut at the edge", "relative"],
    "relative-bpc": ["The same, the blacks brought to the paper’s", "relative-bpc"],
    absolute: ["Colours as measured, the paper’s white imitated", "absolute"],
  } as Record<string, [string, string]>,
  screenKind: {
    srgb: "shown in sRGB",
    "display-p3": "shown in Display P3",
  },
  measure: {
    title: "How large is a millimetre on this screen?",
    why: "Once, so that a print can be shown at its true size. Nothing is sent anywhere.",
    card: "Lay a bank card on the outline and move the right edge until both agree.",
    ruler: "Lay a ruler on the line and move its right end until it is 100 mm long.",
    withCard: "With a bank card",
    withRuler: "With a ruler",
    edge: "Right edge",
    width: (mm: number, px: number) => `${number(mm, 1)} mm are ${number(px)} pixels`,
    keys: "Arrow keys move it by a pixel, Page Up and Page Down by ten; or drag it.",
    done: "They agree",
    cancel: "Not now",
    again: "Measure this screen again",
    cut: "The print is larger than this window: move it with the arrow keys, or drag it.",
    place: "The print at true size",
  },
  close: {
    place: "The print from near",
    /** `where` in words, then the place in millimetres of the print from its upper left. */
    at: (where: string, size: string) => `${where}, ${size} of the print.`,
    rows: ["upper", "", "lower"],
    columns: ["left", "", "right"],
    middle: "the middle",
    all: "the whole picture",
    across: "across",
    nearer: "Nearer",
    further: "Further",
    pixels: "Pixel for pixel",
    whole: "Whole",
    keys: "Arrow keys move, + and − change the distance.",
    done: "Back to the whole print",
    pixelsAt: (ppi: number) => `${number(ppi)} ppi.`,
    magnified: (times: number) => `${number(times, times < 10 ? 1 : 0)} times true size.`,
  },
  /** What is seen from near, in millimetres unless one thinks in inches. */
  near: (seen: Pair, unit: LengthUnit) => size(seen, unit === "in" ? "in" : "mm"),
};
