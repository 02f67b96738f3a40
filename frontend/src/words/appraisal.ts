/** Words of the appraisal: is this file good enough, at this size, from there? */
import type { AppraisalView, AppraisedFinding, AppraisedRung, Grade, LengthUnit, Pair } from "../api/types";
import { afar, fixed, length, listed, many, number, set, size } from "./figures";

const SPELLED = ["No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine"];
const GOOD: readonly Grade[] = ["as_good", "fine"];

const largestGood = (mm: Pair | null, unit: LengthUnit): string => (mm ? upTo(mm, unit) : "none");
const nearestGood = (mm: number | null, unit: LengthUnit): string => (mm ? far(mm, unit) : "nowhere");

export const isGood = (grade: Grade): boolean => GOOD.includes(grade);

/** A size that is a limit, rounded down as one would say it: '74 × 49 cm'. */
function upTo([width, height]: Pair, unit: LengthUnit): string {
  const step = { mm: 10, cm: 10, in: 25.4 }[unit];
  const long = Math.max(width, height);
  if (long < 10 * step) return size([width, height], unit);
  const scale = (Math.floor(long / step) * step) / long;
  return size([Math.round((width * scale) / step) * step, Math.round((height * scale) / step) * step], unit);
}

const pixels = (count: number): string => `${many(count)} pixels`;
/** How far one stands away; very far in metres or feet. */
export function far(mm: number, unit: LengthUnit): string {
  if (unit === "in") return mm < 120 * 25.4 ? afar(mm, unit) : `${number(mm / 304.8)}\u00a0ft`;
  return mm < 3000 ? afar(mm, unit) : `${number(mm / 1000, mm < 10_000 ? 1 : 0)}\u00a0m`;
}

function jnd(lost: number): string {
  if (lost < 0.95) return `${number(lost, 1)} of a just noticeable difference`;
  if (lost < 1.05) return "one just noticeable difference";
  return `${number(lost, lost < 9.95 ? 1 : 0)} just noticeable differences`;
}

const GRADE: Record<Grade, string> = {
  as_good: "as good to the eye as a perfect file",
  fine: "fine: what it lacks shows only beside a better one",
  little_soft: "a little soft, if you look for it",
  soft: "visibly soft",
  too_soft: "too soft",
};

const VISIBLE: Record<AppraisedFinding["visible"], string> = {
  not: "not visible",
  looked_for: "visible if you look for it",
  plain: "plain to see",
  striking: "striking",
};
const SURE: Record<AppraisedFinding["sure"], string> = { sure: "", likely: "likely", perhaps: "perhaps" };
const seenAs = (one: AppraisedFinding): string => VISIBLE[one.visible];
/** Findings whose weight is no count of just noticeable differences; a question has none. */
const UNCOUNTED: Record<string, (one: AppraisedFinding) => string> = {
  cast: () => "",
  out_of_range: seenAs,
  below_black: seenAs,
  subject_soft: seenAs,
  sharpest: () => "",
};

export const appraisal = {
  asking: "Is it good enough?",
  looking: (count: number) => `Looking through its ${pixels(count)}.`,
  refused: "How large it can go can’t be told.",

  /** `chosen`: the size was asked for, and not only taken for want of one. */
  heading(told: AppraisalView, chosen: boolean, unit: LengthUnit): string {
    const from = `From ${far(told.distance_mm, unit)}`;
    if (chosen && !isGood(told.grade)) return `${from}, ${size(told.size_mm, unit)} is ${GRADE[told.grade]}.`;
    if (told.any_size) return `${from} it can go as large as prints are made.`;
    if (!told.largest_good_mm) return `${from} it is too soft for any print.`;
    return `${from} it can go up to ${upTo(told.largest_good_mm, unit)}.`;
  },
  /** What holds at the size, from there. */
  holds(told: AppraisalView, chosen: boolean, unit: LengthUnit): string {
    const near = told.any_distance
      ? "This size holds as near as an eye can see clearly."
      : told.nearest_good_mm
        ? `This size holds from ${far(told.nearest_good_mm, unit)} on.`
        : "This size holds from no distance.";
    if (isGood(told.grade) || !chosen)
      return `Seen from there, ${size(told.size_mm, unit)} is ${GRADE[told.grade]}. ${near}`;
    const largest = told.largest_good_mm;
    if (!largest) return `No size worth hanging is good from there. ${near}`;
    return `It is good from there up to ${upTo(largest, unit)}. ${near}`;
  },
  /** How much of its pixels carries detail; nothing when a finding says so already. */
  detail(told: AppraisalView): string {
    const fraction = told.effective_fraction;
    if (told.findings.some(({ kind }) => kind === "soft" || kind === "enlarged")) return "";
    if (fraction === null)
      return `How much detail its ${pixels(told.pixels)} hold can’t be told: too few clear edges. They are taken at their word.`;
    if (fraction > 0.9) return `Its ${pixels(told.pixels)} are as sharp as pixels can be.`;
    return `Its ${pixels(told.pixels)} hold the detail of about ${many(told.pixels * fraction)}.`;
  },
  another(told: AppraisalView): string {
    const better = isGood(told.grade) ? undefined : told.other_masters.find(({ gain_jnd }) => gain_jnd >= 1);
    if (!better) return "";
    const sharp = `A sharp file of ${number(better.megapixels)} million pixels would`;
    if (told.deficit_jnd - better.gain_jnd < 1) return `${sharp} be ${GRADE.as_good} here.`;
    return `${sharp} gain ${jnd(better.gain_jnd)} here.`;
  },
  lost(told: AppraisalView): string {
    const [least, most] = told.deficit_interval_jnd;
    return `It loses ${jnd(told.deficit_jnd)} (JND) to a perfect file, likely ${fixed(least, 1)} to ${fixed(most, 1)}.`;
  },
  indicative: "From so near, as through a glass, the figure is indicative only.",
  basis(told: AppraisalView, unit: LengthUnit): string {
    if (!told.condition)
      return `Taken for ${size(told.size_mm, unit)} by a good inkjet on gloss, until size and paper are settled.`;
    return `Told for ${told.condition}${told.light ? `, in the light of ‘${told.light}’` : ""}.`;
  },
  /** As the path tells it: 'holds 42 cm'. */
  settled(told: Pick<AppraisalView, "size_mm" | "grade">, unit: LengthUnit): string {
    const long = length(Math.max(...told.size_mm), unit);
    return isGood(told.grade) ? `holds ${long}` : `soft at ${long}`;
  },
  /** The quiet line beneath an order. */
  line(told: AppraisalView, unit: LengthUnit): { verdict: string; more: string } {
    const good = isGood(told.grade);
    const verdict = {
      as_good: "The file carries this size with ease.",
      fine: "The file carries this size.",
      little_soft: "From there, this size is a little soft if you look for it.",
      soft: "From there, this size is visibly soft.",
      too_soft: "From there, this size is too soft.",
    }[told.grade];
    const large = largestGood(told.largest_good_mm, unit);
    if (good) return { verdict, more: told.any_size ? "" : `It stays good up to ${large}.` };
    if (!told.largest_good_mm) return { verdict, more: "No size worth hanging is good from there." };
    if (!told.nearest_good_mm) return { verdict, more: `It is good up to ${large}.` };
    return {
      verdict,
      more: `It is good up to ${large}; this size from ${far(told.nearest_good_mm, unit)} on.`,
    };
  },

  would: (count: number, good: boolean) =>
    count === 0
      ? good
        ? "Nothing would show."
        : "Nothing else would show."
      : `${SPELLED[count] ?? number(count)} ${count === 1 ? "thing" : "things"} would show.`,
  others: "The rest that would show",
  unseen: "What can’t be seen from there",
  /** A finding in the person's units. */
  found(one: AppraisedFinding, unit: LengthUnit): string {
    const text = set(one.text);
    const own =
      unit === "in" ? text.replace(/([\d.]+)\u00a0mm/g, (_, mm) => length(Number(mm), "in", 1)) : text;
    return one.more > 0 ? `${own} ${SPELLED[one.more] ?? number(one.more)} more like it.` : own;
  },
  weight(one: AppraisedFinding): string {
    const seen = UNCOUNTED[one.kind]?.(one) ?? `${fixed(one.visibility_jnd, 1)} JND`;
    return [seen, SURE[one.sure]].filter(Boolean).join(", ");
  },
  where: "Show me where",
  whereOf: (n: number) => `, ${n}`,

  ladder: {
    title: "From how near each size holds",
    key: "Thick where it holds, broken where softness shows; mark and last word are for a diagonal’s distance.",
    keyChosen: "In bold this print, marked where it is to be seen from.",
    keyTaken: "In bold the size it was taken for.",
    from: (mm: number | null, unit: LengthUnit) => (mm ? `from ${far(mm, unit)}` : nearestGood(mm, unit)),
    grade: {
      as_good: "as good as can be",
      fine: "fine",
      little_soft: "a little soft",
      soft: "soft",
      too_soft: "too soft",
    } as Record<Grade, string>,
    size: ([width, height]: Pair, unit: LengthUnit) => {
      const step = { mm: 1, cm: 10, in: 25.4 }[unit];
      // a large size is not told to the millimetre
      const round = (mm: number) => (mm >= 100 ? Math.round(mm / step) * step : mm);
      return size([round(width), round(height)], unit);
    },
    finding(rungs: readonly AppraisedRung[], unit: LengthUnit): string {
      const good = rungs
        .filter((rung) => isGood(rung.grade))
        .map((rung) => appraisal.ladder.size(rung.size_mm, unit));
      const held =
        good.length === rungs.length
          ? "every size holds"
          : good.length
            ? `${listed(good)} hold`
            : "no size holds";
      return `Size ladder: seen from a diagonal’s distance, ${held}.`;
    },
    columns: ["Size", "seen from", "grade", "JND lost", "holds from", "pixels on an inch"],
    row: (rung: AppraisedRung, unit: LengthUnit): string[] => [
      appraisal.ladder.size(rung.size_mm, unit),
      far(rung.distance_mm, unit),
      appraisal.ladder.grade[rung.grade],
      fixed(rung.deficit_jnd, 1),
      nearestGood(rung.nearest_good_mm, unit),
      number(rung.density_ppi),
    ],
  },

  figures: "The figures",
  figureColumns: ["Figure", "value"],
  figureRows(told: AppraisalView, unit: LengthUnit): string[][] {
    const share = (parts: number[]) => `${number(Math.max(0, ...parts), 1)} %`;
    const sure =
      told.effective_confidence >= 0.8 ? "sure" : told.effective_confidence >= 0.5 ? "likely" : "perhaps";
    const held =
      told.effective_fraction === null
        ? "can’t be told"
        : `${number(100 * Math.min(1, told.effective_fraction))} % of its pixels, ${sure}`;
    return [
      ["Lost to a perfect file, JND", fixed(told.deficit_jnd, 1)],
      ["Likely between, JND", told.deficit_interval_jnd.map((value) => fixed(value, 1)).join(" and ")],
      ["Its own pixels on an inch", number(told.density_ppi)],
      ["Largest good size from there", told.any_size ? "any" : largestGood(told.largest_good_mm, unit)],
      ["Nearest good distance", nearestGood(told.nearest_good_mm, unit)],
      ["Detail held", held],
      ...told.noise.map(({ l_lstar, sigma_lstar, visible_jnd }) => [
        `Noise at L* ${number(l_lstar)}`,
        `${number(sigma_lstar, 1)} L*, ${number(visible_jnd, 1)} JND`,
      ]),
      ["Highlights without tone, worst channel", share(told.clipped_high_pct)],
      ["Shadows without tone, worst channel", share(told.clipped_low_pct)],
    ];
  },
  file: "What the file is",
};
