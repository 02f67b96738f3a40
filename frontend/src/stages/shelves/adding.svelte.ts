/** Putting a new thing on a shelf: asked, refused or kept. */
import { post } from "../../api/client";
import { table } from "../../shell/table.svelte";
import { Acting } from "./acting.svelte";

export class Adding extends Acting {
  /** Sends it and reads the shelves again; what the server answered, null when it was refused. */
  keep<T>(path: string, body: Record<string, unknown>): Promise<T | null> {
    return this.act(async () => {
      const answer = await post<T>(path, body);
      await table.readThings();
      this.kept = true;
      return answer;
    });
  }
}
