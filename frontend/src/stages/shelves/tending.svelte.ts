/** Changing what stands on a shelf, or taking it off: asked, refused or done. */
import { del, patch } from "../../api/client";
import type { Things } from "../../api/types";
import { table } from "../../shell/table.svelte";
import { Acting } from "./acting.svelte";

export type Kind = "papers" | "conditions" | "lights" | "displays";

export class Tending extends Acting {
  readonly #kind: Kind;

  constructor(kind: Kind) {
    super();
    this.#kind = kind;
  }

  #at(name: string): string {
    return `/${this.#kind}/${encodeURIComponent(name)}`;
  }

  /** Changes it and reads the shelves again. */
  change(name: string, change: Record<string, unknown>): Promise<unknown> {
    return this.act(async () => {
      await patch(this.#at(name), change);
      await Promise.all([table.readThings(), table.readState()]);
      this.kept = true;
    });
  }

  remove(name: string): Promise<unknown> {
    return this.act(async () => {
      table.things = await del<Things>(this.#at(name));
    });
  }
}
