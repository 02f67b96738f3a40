/** Words in and about the drawings: labels, findings, the tables behind them. */
import { listed, number } from "./figures";

export const drawings = {
  /** What the numbers under a line of losses mean. */
  lossKey: (words: readonly string[]) => `${words.map((word, at) => `${at} ${word}`).join(", ")}.`,
  asTable: "as a table",
  ladder: {
    title: "Where its tones land",
    master: "master",
    paper: "paper",
    noDarker: "no ink darker",
    lightness: "L*",
    /** `from`, `to`: where most of the picture lies in the master, and where that lands. */
    finding: (lo: number, hi: number, from: [number, number], to: [number, number]) =>
      `Tone ladder: the master’s L* 0 to 100 lands on the paper’s ${number(lo)} to ${number(hi)}. ` +
      `Most of the picture lies between ${number(from[0])} and ${number(from[1])} ` +
      `and lands between ${number(to[0])} and ${number(to[1])}.`,
    columns: ["Master’s L*", "lands at", "share"],
    step: (from: number, to: number) => `${from} to ${to}`,
    landed: (from: number, to: number) => `${number(from)} to ${number(to)}`,
    share: (share: number) => (share > 0 && share < 0.01 ? "under 1 %" : `${number(share * 100)} %`),
  },
  rose: {
    title: "How far its colours reach",
    key: "Grey is held, hatched is lost, the line is the paper.",
    hues: ["rose", "orange", "yellow", "green", "cyan", "blue", "violet"],
    held: "The paper holds every colour of this picture.",
    passes: (hues: string[]) => `Its colours pass this paper’s reach in ${listed(hues)}.`,
    all: "Its colours pass this paper’s reach in every hue.",
    finding: (said: string) => `Chroma rose: ${said}`,
    columns: ["Hue angle", "picture C*", "paper C*"],
    angle: (degrees: number) => `${degrees}°`,
    reach: (chroma: number) => number(chroma),
  },
  lamp: {
    lux: (lux: number) => `${number(lux)} lux`,
    kelvin: (kelvin: number) => `${number(kelvin)} K`,
  },
};
