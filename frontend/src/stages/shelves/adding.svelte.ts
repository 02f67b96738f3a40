/** Putting a new thing on a shelf: asked, refused or kept. */
import { post, refusalOf } from "../../api/client";
import type { Refusal } from "../../api/types";
import { table } from "../../shell/table.svelte";

export class Adding {
  busy = $state(false);
  kept = $state(false);
  refusal = $state<Refusal | null>(null);

  /** Sends it and reads the shelves again; what the server answered, null when it was refused. */
  async keep<T>(path: string, body: Record<string, unknown>): Promise<T | null> {
    this.busy = true;
    this.kept = false;
    this.refusal = null;
    try {
      const answer = await post<T>(path, body);
      await table.readThings();
      this.kept = true;
      return answer;
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
