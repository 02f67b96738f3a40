/** When a sheet is dry, said as one would. */
import { clock, day } from "../../words/when";

export interface Dryness {
  isDry: boolean;
  /** '21:40', or with its day when that is another. */
  time: string;
}

export function dryness(dryFrom: string, now: Date): Dryness {
  const from = new Date(dryFrom);
  const today = from.toDateString() === now.toDateString();
  return { isDry: from <= now, time: today ? clock(from) : `${day(from)}, ${clock(from)}` };
}
