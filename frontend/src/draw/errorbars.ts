/** Expected error as bars: from 0 to the bound nine in ten stay within, a square at the expectation. */

export interface ErrorBar {
  label: string;
  /** Expected difference from what is wanted, CIEDE2000. */
  expected: number;
  /** Nine in ten stay within. */
  bound: number;
  now: boolean;
}

/** The end of the axis: the next whole number that holds every bar, at least 2. */
export function axisEnd(bars: readonly ErrorBar[]): number {
  return Math.max(2, Math.ceil(Math.max(...bars.map((bar) => Math.max(bar.bound, bar.expected))) - 0.05));
}

/** Where ticks stand, few enough for their words not to touch: 1 is always there, as it is what can be seen. */
export function ticks(end: number, width: number): number[] {
  const step = Math.max(1, Math.ceil((end * 70) / Math.max(1, width)));
  const kept = [0, 1];
  for (let value = step > 1 ? step : 2; value < end - step / 2; value += step)
    if (value > 1) kept.push(value);
  return [...kept, end];
}
