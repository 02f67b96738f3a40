/** A verdict while it is being said: the sentence's gaps, and the same as the server is asked. */
import { AXES, fault, GRADES, type Axis, type Grade, type Sign } from "../../words/axes";
import type { SaidOfSheet, VerdictAsked } from "./records";

export interface Word {
  axis: Axis;
  sign: Sign;
  grade: Grade;
}

export interface Draft {
  best: string | null;
  next: string | null;
  between: readonly [string, string] | null;
  noneRight: boolean;
  cantTell: boolean;
  /** Codes called right. */
  right: readonly string[];
  /** What is wrong with a tile, by its code, in the order it was said. */
  words: Readonly<Record<string, readonly Word[]>>;
  /** Said elsewhere in words this page has no gap for; kept as they are. */
  other: readonly string[];
}

export const NOTHING: Draft = {
  best: null,
  next: null,
  between: null,
  noneRight: false,
  cantTell: false,
  right: [],
  words: {},
  other: [],
};

/** A tile was touched: first the best, then the next best; touching one of them again takes it back. */
export function touched(draft: Draft, code: string): Draft {
  const open = { ...draft, noneRight: false, cantTell: false, between: null };
  if (code === draft.best) return { ...open, best: draft.next, next: null };
  if (code === draft.next) return { ...open, next: null };
  return draft.best === null ? { ...open, best: code } : { ...open, next: code };
}

/** A word was touched: said, taken back, or said instead of its opposite. */
export function worded(draft: Draft, code: string, axis: Axis, sign: Sign): Draft {
  const said = draft.words[code] ?? [];
  const rest = said.filter((word) => word.axis !== axis);
  const same = said.some((word) => word.axis === axis && word.sign === sign);
  const words = same ? rest : [...rest, { axis, sign, grade: "" as Grade }];
  return {
    ...draft,
    words: { ...draft.words, [code]: words },
    right: draft.right.filter((one) => one !== code),
  };
}

export function graded(draft: Draft, code: string, axis: Axis, grade: Grade): Draft {
  const words = (draft.words[code] ?? []).map((word) => (word.axis === axis ? { ...word, grade } : word));
  return { ...draft, words: { ...draft.words, [code]: words } };
}

export function calledRight(draft: Draft, code: string): Draft {
  const was = draft.right.includes(code);
  return { ...NOTHING, other: draft.other, right: was ? [] : [code] };
}

/** The tiles something was said of, as the sheet has them. */
export function blamed(draft: Draft, codes: readonly string[]): string[] {
  return codes.filter((code) => (draft.words[code] ?? []).length > 0);
}

export function isEmpty(draft: Draft): boolean {
  const said = Object.values(draft.words).some((words) => words.length > 0);
  const named =
    draft.best !== null || draft.between !== null || draft.right.length > 0 || draft.other.length > 0;
  return !(said || named || draft.noneRight || draft.cantTell);
}

export function asked(draft: Draft): Required<VerdictAsked> {
  const words = Object.entries(draft.words).flatMap(([code, said]) =>
    said.map((word) => `${code} ${fault(word.axis, word.sign, word.grade)}`),
  );
  return {
    best: draft.best,
    next: draft.best === null ? null : draft.next,
    between: draft.between === null ? null : [draft.between[0], draft.between[1]],
    none_right: draft.noneRight,
    cant_tell: draft.cantTell,
    say: [...words, ...draft.right.map((code) => `${code} right`), ...draft.other],
  };
}

const PHRASES = new Map<string, Word>(
  AXES.flatMap((axis) =>
    ([-1, 1] as const).flatMap((sign) =>
      GRADES.map((grade): [string, Word] => [fault(axis, sign, grade), { axis, sign, grade }]),
    ),
  ),
);

/** The draft that said what the server has on record. */
export function draftOf(said: SaidOfSheet, codes: readonly string[]): Draft {
  const words: Record<string, Word[]> = {};
  const other: string[] = [];
  const right: string[] = [];
  let between: Draft["between"] = null;
  let cantTell = false;
  for (const text of said.say) {
    const [, code = "", rest = ""] = /^([A-Z]\d+) (.+)$/i.exec(text.trim()) ?? [];
    const tile = codes.find((one) => one === code.toUpperCase());
    const alone = codes.length === 1 ? codes[0] : undefined;
    const word = PHRASES.get(tile ? rest : text.trim());
    const both = /^between ([A-Z]\d+) and ([A-Z]\d+)$/i.exec(text.trim());
    if (both?.[1] && both[2]) between = [both[1].toUpperCase(), both[2].toUpperCase()];
    else if (/^can[’']t tell$/i.test(text.trim())) cantTell = true;
    else if (tile && rest === "right") right.push(tile);
    else if (word && (tile ?? alone ?? said.best))
      (words[(tile ?? alone ?? said.best) as string] ??= []).push(word);
    else other.push(text);
  }
  return {
    best: said.best,
    next: said.next,
    between,
    noneRight: said.none_right,
    cantTell,
    right,
    words,
    other,
  };
}

/** Codes typed on the keyboard, letter first: feed keys one by one, get a code when one is whole. */
export class Typed {
  #row = "";

  key(key: string, codes: readonly string[]): string | null {
    const upper = key.toUpperCase();
    if (/^[A-Z]$/.test(upper)) this.#row = upper;
    const code = /^\d$/.test(key) ? codes.find((one) => one === this.#row + key) : undefined;
    if (/^\d$/.test(key)) this.#row = "";
    return code ?? null;
  }
}
