/** One search over all that is on the shelves. */
import type { ConditionShown, DisplayFields, Light, Paper, TicketLine } from "../../api/types";
import { day } from "../../words/when";

const plain = (text: string): string =>
  text
    .toLowerCase()
    .normalize("NFD")
    .replace(/\p{Diacritic}/gu, "");

/** Whether every word that is looked for begins a word of the texts. */
export function matches(sought: string, texts: readonly (string | null | undefined)[]): boolean {
  const hay = ` ${plain(texts.filter(Boolean).join(" "))}`;
  return plain(sought)
    .replace(/[“”"',.;]/g, " ")
    .split(/\s+/)
    .filter(Boolean)
    .every((word) => hay.includes(` ${word}`) || hay.includes(word));
}

export const printTexts = (line: TicketLine) => [
  line.ticket,
  line.title,
  line.condition,
  line.light,
  line.status,
  day(new Date(line.updated)),
];
export const conditionTexts = (one: ConditionShown) => [
  one.name,
  one.paper,
  one.profile_description,
  one.media,
  one.device_space,
];
export const paperTexts = (one: Paper) => [one.name, one.surface, ...Object.keys(one.stock)];
export const lightTexts = (one: Light) => [
  one.name,
  `${one.illuminance_lx}`,
  one.cct_k === null ? "" : `${one.cct_k}`,
];
export const displayTexts = (one: DisplayFields) => [one.name, one.profile_description];
