/** What lies on the table: the page's state, the ticket that is open, the things one owns. */
import { get, patch, refusalOf } from "../api/client";
import { events } from "../api/events.svelte";
import { link } from "../api/link.svelte";
import type { LengthUnit, PageState, Refusal, Things, TicketChange, TicketView, Units } from "../api/types";
import { titled } from "../words/figures";

/** Its title as one would say it; the file's own name stays with the master. */
const named = <Titled extends { title: string }>(ticket: Titled): Titled => ({
  ...ticket,
  title: titled(ticket.title),
});

class Table {
  state = $state<PageState | null>(null);
  ticket = $state<TicketView | null>(null);
  things = $state<Things | null>(null);
  /** Why the ticket that was asked for can't be shown. */
  refusal = $state<Refusal | null>(null);
  readonly unit = $derived<LengthUnit>(this.state?.units.length ?? "cm");
  readonly currency = $derived(this.state?.units.currency ?? "");

  async readState(): Promise<void> {
    const state = await get<PageState>("/state");
    this.state = { ...state, tickets: state.tickets.map(named) };
  }

  async readThings(): Promise<Things> {
    this.things = await get<Things>("/things");
    return this.things;
  }

  /** Lays a ticket on the table; null clears it. */
  async lay(id: string | null): Promise<void> {
    if (!id) {
      this.ticket = null;
      return;
    }
    if (this.ticket?.ticket !== id) this.ticket = null;
    try {
      const ticket = named(await get<TicketView>(`/tickets/${id}`));
      this.refusal = null;
      this.ticket = ticket;
    } catch (error) {
      this.refusal = refusalOf(error);
    }
  }

  /** Lays down a ticket that was just opened, so that nothing is waited for twice. */
  put(ticket: TicketView): void {
    this.refusal = null;
    this.ticket = named(ticket);
  }

  /** Changes the open ticket; the server's refusal is raised. */
  async change(id: string, change: TicketChange): Promise<TicketView> {
    const ticket = named(await patch<TicketView>(`/tickets/${id}`, change));
    if (this.ticket?.ticket === id) this.ticket = ticket;
    return ticket;
  }

  /** What lengths or prices are told in from now on; the server's refusal is raised. */
  async tellIn(units: Partial<Units>): Promise<void> {
    const kept = await patch<Units>("/units", units);
    if (this.state) this.state.units = kept;
  }
}

export const table = new Table();

/** Reads again what may have changed behind the page. */
async function again(ticket: string | null = null): Promise<void> {
  const open = table.ticket?.ticket;
  await Promise.allSettled([
    table.readState(),
    open && (!ticket || ticket === open) ? table.lay(open) : undefined,
  ]);
}

/** What this tab changed itself it knows already, but for the lines of the shelves: they wait until it is still. */
const STILL_MS = 1000;
let still: ReturnType<typeof setTimeout> | undefined;

events.onTicket((ticket, mine) => {
  clearTimeout(still);
  if (mine) still = setTimeout(() => void table.readState().catch(() => undefined), STILL_MS);
  else void again(ticket);
});
link.onBack(() => void again());
