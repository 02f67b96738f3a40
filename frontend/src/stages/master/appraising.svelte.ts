/** An appraisal on its way: asked for, waited for, told; what was told before shows at once. */
import { get, isAbort, refusalOf, type Query } from "../../api/client";
import type { AppraisalView, LengthUnit, Refusal, TicketView } from "../../api/types";
import { verdicts } from "../../shell/verdicts.svelte";
import { queryOf, type Order } from "../paper/order.svelte";

export interface Asked {
  path: string;
  query: Query;
  /** The ticket or the master that is appraised. */
  of: string;
  /** Everything the answer depends on. */
  key: string;
}

/** What to ask for a ticket as it stands, or for a master and the order laid on it. */
export function appraisalOf(
  sha: string | undefined,
  ticket: TicketView | undefined,
  order: Order | null,
  unit: LengthUnit,
): Asked | null {
  const of = ticket?.ticket ?? sha;
  if (!of) return null;
  const path = ticket ? `/tickets/${of}/appraisal` : `/masters/${of}/appraisal`;
  const query = ticket || !order ? {} : queryOf(order);
  const own = ticket && [
    ticket.size_mm,
    ticket.distance_mm,
    ticket.crop_px,
    ticket.condition.name,
    ticket.light,
  ];
  return { path, query, of, key: JSON.stringify([path, query, own, unit === "in"]) };
}

const told = new Map<string, AppraisalView>();

export class Appraising {
  view = $state<AppraisalView | null>(null);
  refusal = $state<Refusal | null>(null);
  asking = $state(false);

  /** The answer hangs up. */
  ask(asked: Asked, onanswer?: (refused: Refusal | null) => void): () => void {
    const { path, query, key } = asked;
    const stop = new AbortController();
    this.#show(asked, told.get(key) ?? null);
    this.refusal = null;
    this.asking = true;
    get<AppraisalView>(path, query, stop.signal)
      .then((view) => {
        told.set(key, view);
        this.#show(asked, view);
        onanswer?.(null);
      })
      .catch((error: unknown) => {
        if (isAbort(error)) return;
        this.refusal = refusalOf(error);
        onanswer?.(this.refusal);
      })
      .finally(() => {
        if (!stop.signal.aborted) this.asking = false;
      });
    return () => stop.abort();
  }

  #show({ path, of, key }: Asked, view: AppraisalView | null): void {
    this.view = view;
    if (view) verdicts.put(of, key, view);
    else if (path.startsWith("/masters/")) verdicts.drop(of, key);
  }
}
