/** What the file was found to hold, by ticket or master, for the path along the table's edge. */
import type { AppraisalView } from "../api/types";

class Verdicts {
  #all = $state<Record<string, AppraisalView | null>>({});

  put(of: string, view: AppraisalView | null): void {
    this.#all[of] = view;
  }

  of(ticketOrMaster: string): AppraisalView | null {
    return this.#all[ticketOrMaster] ?? null;
  }
}

export const verdicts = new Verdicts();
