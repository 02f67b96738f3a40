/** Changing what stands on a shelf, or taking it off: asked, refused or done. */
import { del, patch, refusalOf } from "../../api/client";
import type { Refusal, Things } from "../../api/types";
import { table } from "../../shell/table.svelte";

export type Kind = "papers" | "conditions" | "lights" | "displays";

export class Tending {
  busy = $state(false);
  kept = $state(false);
  refusal = $state<Refusal | null>(null);
  readonly #kind: Kind;

  constructor(kind: Kind) {
    this.#kind = kind;
  }

  #at(name: string): string {
    return `/${this.#kind}/${encodeURIComponent(name)}`;
  }

  /** Changes it and reads the shelves again. */
  change(name: string, change: Record<string, unknown>): Promise<void> {
    return this.#act(async () => {
      await patch(this.#at(name), change);
      await Promise.all([table.readThings(), table.readState()]);
      this.kept = true;
    });
  }

  remove(name: string): Promise<void> {
    return this.#act(async () => {
      table.things = await del<Things>(this.#at(name));
    });
  }

  async #act(act: () => Promise<void>): Promise<void> {
    this.busy = true;
    this.kept = false;
    this.refusal = null;
    try {
      await act();
    } catch (error) {
      this.refusal = refusalOf(error);
    } finally {
      this.busy = false;
    }
  }
}
