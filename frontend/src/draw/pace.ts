/** How much of its pixels a quick picture is asked for, so that the next one comes soon; one pace for the whole page. */

/** A quick picture that took longer than this is asked for with half its pixels next, until one comes at leisure. */
const SLOW_MS = 200;
const LEISURE_MS = 90;
const COARSEST = 0.5;

// not a state: no picture is asked for because it changes
let share = 1;

export const pace = {
  /** Of a picture's width, 0.5-1. */
  share: (): number => share,
  took(ms: number): void {
    if (ms > SLOW_MS) share = Math.max(COARSEST, share * Math.SQRT1_2);
    else if (ms < LEISURE_MS) share = Math.min(1, share / Math.SQRT1_2);
  },
};
