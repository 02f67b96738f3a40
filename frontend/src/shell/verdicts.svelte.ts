/**
 * What the file was found to hold, by ticket or master, for the path along the table's edge: it says the same on every
 * stage and after a reload, for as long as it was asked of the same print.
 */
import type { AppraisalView } from "../api/types";

export type Held = Pick<AppraisalView, "size_mm" | "grade">;
interface Kept extends Held {
  /** Everything it depends on. */
  key: string;
}

const KEPT = "wallworthy.holds";
const MOST = 60;

function left(): Record<string, Kept> {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? "{}") as Record<string, Kept>;
  } catch {
    return {};
  }
}

class Verdicts {
  #all = $state<Record<string, Kept>>(left());

  /** Null while another is on its way: what is kept of another print is no longer true. */
  put(of: string, key: string, view: AppraisalView | null): void {
    if (!view && this.#all[of]?.key === key) return;
    const { [of]: _, ...others } = this.#all;
    const rest = Object.entries(others).slice(1 - MOST);
    const mine = view ? [[of, { key, size_mm: view.size_mm, grade: view.grade }] as const] : [];
    this.#all = Object.fromEntries([...rest, ...mine]);
    localStorage.setItem(KEPT, JSON.stringify(this.#all));
  }

  /** `key` null: whatever was asked last. */
  of(ticketOrMaster: string, key: string | null): Held | null {
    const kept = this.#all[ticketOrMaster];
    return kept && (key === null || kept.key === key) ? kept : null;
  }
}

export const verdicts = new Verdicts();
