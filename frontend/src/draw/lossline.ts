/** One line of visible difference: whole units below, what lies on it above. */

export interface Shelved {
  name: string;
  x: number;
  /** 0 stands nearest the line; names that would touch go one higher. */
  row: number;
}

const NAME_PX = 26;
/** A letter of a name is about so wide. */
const LETTER_PX = 7;

/** Half of the room that a name takes. */
export const half = (name: string): number => Math.max(NAME_PX - 2, name.length * LETTER_PX) / 2 + 1;

export function lossTicks(end: number): number[] {
  const step = Math.ceil(end / 8);
  return Array.from({ length: Math.floor(end / step) + 1 }, (_, place) => place * step);
}

/** Names on the line by rising value, none on top of another. */
export function shelved(
  points: readonly { name: string; value: number }[],
  at: (value: number) => number,
): Shelved[] {
  const ends: number[] = [];
  return [...points]
    .sort((a, b) => a.value - b.value)
    .map(({ name, value }) => {
      const x = at(value);
      let row = ends.findIndex((end) => x - half(name) >= end);
      if (row < 0) row = ends.length;
      ends[row] = x + half(name);
      return { name, x, row };
    });
}
