/** The size ladder: each size a rung along the distance one stands away, doubling from tick to tick. */
import type { AppraisalView, AppraisedRung, LengthUnit } from "../api/types";

export interface Rung extends AppraisedRung {
  /** The size that was asked for, seen from where it is to be seen from. */
  own: boolean;
}

const NEAREST_MM = 250;
/** Sizes that differ by less than this share are the same. */
const ALIKE = 0.02;

/** The usual sizes with the asked one among them, smallest first. */
export function rungsOf(told: AppraisalView): Rung[] {
  const own: Rung = {
    size_mm: told.size_mm,
    distance_mm: told.distance_mm,
    density_ppi: told.density_ppi,
    deficit_jnd: told.deficit_jnd,
    grade: told.grade,
    nearest_good_mm: told.nearest_good_mm,
    own: true,
  };
  const long = (rung: AppraisedRung) => Math.max(...rung.size_mm);
  const others = told.ladder.filter((rung) => Math.abs(long(rung) / long(own) - 1) > ALIKE);
  return [own, ...others.map((rung) => ({ ...rung, own: false }))].sort((a, b) => long(a) - long(b));
}

export interface Axis {
  from: number;
  to: number;
  /** In mm. */
  ticks: number[];
}

/** Far enough for every rung to hold somewhere on it, and to show where one stands. */
export function axisOf(rungs: readonly AppraisedRung[], unit: LengthUnit): Axis {
  const first = unit === "in" ? 10 * 25.4 : NEAREST_MM;
  const farthest = Math.max(
    ...rungs.map((rung) => Math.max((rung.nearest_good_mm ?? 0) * 1.25, rung.distance_mm * 1.1)),
  );
  const ticks = [first];
  while (ticks.at(-1)! < Math.max(farthest, 4 * first)) ticks.push(ticks.at(-1)! * 2);
  return { from: first, to: ticks.at(-1)!, ticks };
}

/** Where a distance lies on the axis, 0-1; nearer than its beginning lies there. */
export function along(mm: number, { from, to }: Axis): number {
  return Math.min(1, Math.max(0, Math.log(mm / from) / Math.log(to / from)));
}
