/** The order while it is made: what it comes to in millimetres, how it is changed, and what it opens or changes. */
import { patch, post, refusalOf } from "../../api/client";
import type { MasterFacts, Pair, Refusal, TicketAsked, TicketChange, TicketView } from "../../api/types";
import { ahead } from "../../draw/ahead";
import { laying } from "../../shell/laying.svelte";
import { here } from "../../shell/route.svelte";
import { table } from "../../shell/table.svelte";
import { ProofSession } from "../proof/session.svelte";
import {
  borderOf,
  density,
  FIRST,
  keepOrder,
  lengthMm,
  marginsOf,
  type Order,
  orderOf,
  placed,
  sizeMm,
} from "./order.svelte";

type Quad = [number, number, number, number];
type Chosen = Pick<TicketAsked, "on" | "paper" | "upload" | "pick">;

const sent = (border: Order["border_mm"]) => (typeof border === "number" ? border : ([...border] as Quad));

function sizeText(of: TicketView): string {
  return of.size_mm.map((mm) => Math.round(mm * 100) / 100).join("x") + "mm";
}

function ordered(of: TicketView): Order {
  return {
    size: sizeText(of),
    fill: of.fill,
    distance: `${Math.round(of.distance_mm)}mm`,
    light: of.light?.name ?? "",
    border_mm: borderOf(of.margins_mm),
    assume: null,
    assumeName: null,
  };
}

/** A light one knows by its words becomes one of one's own when it is first chosen. */
async function owned(light: string): Promise<string> {
  if (table.things?.lights.some((own) => own.name === light)) return light;
  await post("/lights", { name: light, words: light });
  await table.readThings();
  return light;
}

export class Ordering {
  order = $state<Order>({ ...FIRST });
  refusal = $state<Refusal | null>(null);
  /** The paper that is being gone on with. */
  busy = $state("");
  /** The order as it was last told of. */
  #taken: Order = { ...FIRST };
  readonly #sha: string | undefined;
  readonly #ticket: () => TicketView | undefined;

  readonly facts: MasterFacts | null = $derived.by(
    () => this.#ticket()?.master ?? (laying.master?.sha256 === this.#sha ? laying.master : null),
  );
  /** The picture's own pixels. */
  readonly own: Pair = $derived(this.facts ? [this.facts.width_px, this.facts.height_px] : [3, 2]);
  readonly size = $derived.by((): Pair | null => {
    const ticket = this.#ticket();
    if (ticket && this.order.size === sizeText(ticket)) return ticket.size_mm;
    const within = sizeMm(this.order.size);
    return within && placed(this.own, within, this.order.fill);
  });
  readonly border = $derived.by(
    (): Quad => this.#ticket()?.margins_mm ?? ([...marginsOf(this.order.border_mm)] as Quad),
  );
  readonly ppi = $derived.by(
    () =>
      this.#ticket()?.density_ppi ??
      (this.size && this.facts ? density(this.own, this.size, this.order.fill) : null),
  );
  readonly distance = $derived.by(
    () =>
      this.#ticket()?.distance_mm ??
      lengthMm(this.order.distance) ??
      (this.size ? Math.hypot(...this.size) : null),
  );

  constructor(sha: string | undefined, ticket: () => TicketView | undefined) {
    this.#sha = sha;
    this.#ticket = ticket;
    const open = ticket();
    this.order = open ? ordered(open) : orderOf(sha ?? "");
  }

  /** A word of the order has changed: kept for the ticket to come, or changed on the ticket at once. */
  async change(change: Partial<Order>): Promise<void> {
    const ticket = this.#ticket();
    this.order = { ...this.order, ...change };
    this.refusal = null;
    if (!ticket) {
      if (this.#sha) keepOrder(this.#sha, this.order);
      return;
    }
    const asked: TicketChange = {};
    if (change.size !== undefined) asked.size = change.size;
    if (change.fill !== undefined) asked.fill = change.fill;
    if (change.distance !== undefined) asked.distance = change.distance;
    if (change.light) asked.light = await owned(change.light);
    if (change.border_mm !== undefined) asked.border_mm = sent(change.border_mm);
    try {
      this.order = ordered(await table.change(ticket.ticket, asked));
    } catch (error) {
      this.refusal = refusalOf(error);
      this.order = ordered(ticket);
    }
  }

  /** The server has taken the order, or refuses it: then what was refused goes back to what it was. */
  held(asked: Order, refused: Refusal | null): void {
    if (!refused) this.#taken = asked;
    if (!refused || this.#ticket() || asked !== this.order || !/^(size|distance|unit)_/.test(refused.code))
      return;
    this.refusal = refused;
    this.order = { ...this.order, size: this.#taken.size, distance: this.#taken.distance };
    if (this.#sha) keepOrder(this.#sha, this.order);
  }

  /** Goes on to the proof with a paper; `key` is what is busy meanwhile. */
  async printOn(key: string, chosen: Chosen): Promise<void> {
    const ticket = this.#ticket();
    this.busy = key;
    this.refusal = null;
    if (ticket && chosen.on) this.#lookAhead(ticket, chosen.on);
    try {
      if (ticket) {
        const changed = await patch<TicketView>(`/tickets/${ticket.ticket}`, chosen satisfies TicketChange);
        // in one breath: nothing of this stage is drawn anew with the other paper
        table.put(changed);
        here.go(`/t/${changed.ticket}/proof`);
      } else await this.#open(chosen);
      laying.profile = null;
    } catch (error) {
      ahead.leave();
      this.refusal = refusalOf(error);
    } finally {
      this.busy = "";
    }
  }

  /** A paper is about to be chosen, or, null, not after all: its proof is asked for already. */
  meant(condition: string | null): void {
    const ticket = this.#ticket();
    if (!ticket || this.busy) return;
    if (condition) this.#lookAhead(ticket, condition);
    else ahead.leave();
  }

  /** The proof on another paper is asked for while the ticket is still being changed. */
  #lookAhead(ticket: TicketView, condition: string): void {
    const proof = new ProofSession(ticket);
    ahead.begin(proof.picture("quick", { condition }), proof.picture("quick"));
  }

  async #open(chosen: Chosen): Promise<void> {
    const { order } = this;
    const asked: TicketAsked = {
      master_sha256: this.#sha ?? "",
      size: order.size,
      fill: order.fill,
      border_mm: sent(order.border_mm),
      ...chosen,
    };
    if (order.distance) asked.distance = order.distance;
    if (order.light) asked.light = await owned(order.light);
    if (order.assume) asked.assume = order.assume;
    const made = await post<TicketView>("/tickets", asked);
    table.put(made);
    void table.readState();
    here.go(`/t/${made.ticket}/proof`);
  }
}
