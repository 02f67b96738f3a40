/**
 * What the file was found to hold, by ticket or master, for the path along the table's edge: it says the same on every
 * stage and after a reload, for as long as it was asked of the same print.
 */
import type { AppraisalView, Pair } from "../api/types";

export type Held = Pick<AppraisalView, "size_mm" | "grade">;
interface Kept extends Held {
  /** Everything it depends on. */
  key: string;
}

const KEPT = "wallworthy.holds";
const MOST = 60;
const SAME_MM = 0.5;

function left(): Record<string, Kept> {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? "{}") as Record<string, Kept>;
  } catch {
    return {};
  }
}

class Verdicts {
  #all = $state<Record<string, Kept>>(left());

  put(of: string, key: string, { size_mm, grade }: AppraisalView): void {
    const { [of]: _, ...others } = this.#all;
    this.#all = Object.fromEntries([
      ...Object.entries(others).slice(1 - MOST),
      [of, { key, size_mm, grade }] as const,
    ]);
    localStorage.setItem(KEPT, JSON.stringify(this.#all));
  }

  /** What is kept of another order of a master is no longer true. */
  drop(of: string, key: string): void {
    if (this.#all[of]?.key === key) return;
    const { [of]: _, ...others } = this.#all;
    this.#all = others;
  }

  /**
   * `key` null: whatever was asked last. In another light, or on another paper, it stays until that is told; of
   * another size it is no longer true.
   */
  of(ticketOrMaster: string, key: string | null, size?: Pair): Held | null {
    const kept = this.#all[ticketOrMaster];
    if (!kept || key === null || kept.key === key) return kept ?? null;
    const same = size && Math.abs(Math.max(...kept.size_mm) - Math.max(...size)) < SAME_MM;
    return same ? kept : null;
  }

  /** Whether it was told of that very print, in that light. */
  knows(ticketOrMaster: string, key: string): boolean {
    return this.#all[ticketOrMaster]?.key === key;
  }
}

export const verdicts = new Verdicts();
