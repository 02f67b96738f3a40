/** Something is asked of the shelves: it runs, is refused, or is kept. */
import { refusalOf } from "../../api/client";
import type { Refusal } from "../../api/types";

export class Acting {
  busy = $state(false);
  kept = $state(false);
  refusal = $state<Refusal | null>(null);

  /** What it came to; null when it was refused. */
  protected async act<T>(act: () => Promise<T>): Promise<T | null> {
    this.busy = true;
    this.kept = false;
    this.refusal = null;
    try {
      return await act();
    } catch (error) {
      this.refusal = refusalOf(error);
      return null;
    } finally {
      this.busy = false;
    }
  }
}

/** A number as it was typed; null when nothing was. NaN is left for the server to refuse in words. */
export function typed(text: string): number | null {
  const value = text.trim().replace(",", ".");
  if (!value) return null;
  const number = Number(value);
  return Number.isFinite(number) ? number : null;
}
