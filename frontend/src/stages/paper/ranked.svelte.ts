/** The papers ranked for this picture: asked for while the stage stays in use, and in whose order they lie. */
import { get, isAbort, refusalOf } from "../../api/client";
import type { RankedPaper, RankingView, Refusal } from "../../api/types";

/** The order changes step by step; a ranking is asked for once it is still. */
const STILL_MS = 400;

export class Ranking {
  view = $state.raw<RankingView | null>(null);
  /** One is on its way; what is shown is of the order before. */
  asking = $state(false);
  refusal = $state<Refusal | null>(null);
  /** The names in the order they lie in. */
  #laid = $state.raw<readonly string[]>([]);
  #touched = false;

  readonly #places = $derived(new Map(this.view?.ranking.map((one) => [one.condition, one])));
  readonly best = $derived(this.view?.ranking[0]?.condition ?? null);
  readonly #sorted = $derived(this.view?.ranking.map((one) => one.condition) ?? []);

  /** From now on nothing changes its place by itself: it would move under the hand. */
  touch(): void {
    this.#touched = true;
  }

  of(name: string): RankedPaper | null {
    return this.#places.get(name) ?? null;
  }

  /** Things as they lie now; what is in no ranking yet lies at the end. */
  lying<Named extends { name: string }>(things: readonly Named[]): Named[] {
    const at = (thing: Named) => (this.#laid.indexOf(thing.name) + 1 || Infinity) - 1;
    return [...things].sort((one, other) => (at(one) === at(other) ? 0 : at(one) - at(other)));
  }

  /** Whether they lie best first, of those that are ranked. */
  inOrder(names: readonly string[]): boolean {
    const ranked = names.filter((name) => this.#places.has(name));
    return ranked.every((name, at) => name === this.#sorted[at]);
  }

  layBestFirst(): void {
    this.#laid = this.#sorted;
  }

  /** Asks once nothing has changed for a moment; the answer stops it. `names`: as they lie without a ranking. */
  ask(path: string, query: Record<string, string | boolean>, names: readonly string[]): () => void {
    const stop = new AbortController();
    this.asking = true;
    this.refusal = null;
    const wait = setTimeout(
      () => {
        get<RankingView>(path, query, stop.signal)
          .then((view) => this.#take(view, names))
          .catch((error: unknown) => {
            if (isAbort(error)) return;
            this.view = null;
            this.refusal = refusalOf(error);
          })
          .finally(() => {
            if (!stop.signal.aborted) this.asking = false;
          });
      },
      this.view ? STILL_MS : 0,
    );
    return () => {
      clearTimeout(wait);
      stop.abort();
      this.asking = false;
    };
  }

  #take(view: RankingView, names: readonly string[]): void {
    this.view = view;
    this.refusal = null;
    if (!this.#touched) this.layBestFirst();
    else if (!this.#laid.length) this.#laid = names;
  }
}
