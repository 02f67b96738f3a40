/** Days and times as one says them. */
export { clock } from "./figures";

const LANGUAGE = "en-GB";

/** '3 March', with the year when it is another than this. */
export function day(at: Date, now: Date = new Date()): string {
  const year = at.getFullYear() === now.getFullYear() ? {} : ({ year: "numeric" } as const);
  return new Intl.DateTimeFormat(LANGUAGE, { day: "numeric", month: "long", ...year }).format(at);
}

/** 'today, 21:50' or '3 March'. */
export function lately(at: Date, now: Date = new Date()): string {
  const time = new Intl.DateTimeFormat(LANGUAGE, { hour: "2-digit", minute: "2-digit" }).format(at);
  return at.toDateString() === now.toDateString() ? `today, ${time}` : day(at, now);
}

/** Whole days between a date and now. */
export function daysAgo(date: string, now: Date = new Date()): number {
  return Math.max(
    0,
    Math.floor((now.getTime() - new Date(`${date.slice(0, 10)}T00:00:00`).getTime()) / 86_400_000),
  );
}
