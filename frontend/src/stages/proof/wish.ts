/** The wish in steps: values of a correction against the words that name them. */
import type { Axis, Correction } from "../../api/types";
import { UNSAID } from "../../words/axes";
import { wishAxes } from "../../words/proof";

export const STEPS_EACH_WAY = 4;

export const AXES = Object.keys(wishAxes) as Axis[];

export const plainFit = (): Correction =>
  Object.fromEntries(AXES.map((axis) => [axis, wishAxes[axis].plain])) as Correction;

/** How many just noticeable steps a value lies from the plain fit, not rounded. */
export const stepsOf = (axis: Axis, value: number): number =>
  (value - wishAxes[axis].plain) / wishAxes[axis].step;

/** The nearest step that has a word, -4 to 4; what nobody would see is called the fit. */
export function wordStep(axis: Axis, value: number): number {
  const steps = stepsOf(axis, value);
  const near = Math.abs(steps) < UNSAID ? 0 : Math.sign(steps) * Math.max(1, Math.round(Math.abs(steps)));
  return Math.max(-STEPS_EACH_WAY, Math.min(STEPS_EACH_WAY, near));
}

export const wordOf = (axis: Axis, value: number): string =>
  wishAxes[axis].steps[wordStep(axis, value) + STEPS_EACH_WAY] ?? "";

/** The value one or more whole steps on; from between two steps the first press lands on a step. */
export function stepped(axis: Axis, value: number, by: number): number {
  const { step, plain } = wishAxes[axis];
  const steps = stepsOf(axis, value);
  const from = by > 0 ? Math.floor(steps + 1e-6) : Math.ceil(steps - 1e-6);
  const to = Math.max(-STEPS_EACH_WAY, Math.min(STEPS_EACH_WAY, from + by));
  const beyond = Math.abs(steps) > STEPS_EACH_WAY && Math.sign(to - steps) !== Math.sign(by);
  return beyond ? value : Math.round((plain + to * step) * 1000) / 1000;
}

export const same = (one: Correction, other: Correction): boolean =>
  AXES.every((axis) => Math.abs(one[axis] - other[axis]) < 1e-6);

export const isPlain = (wish: Correction): boolean => same(wish, plainFit());
