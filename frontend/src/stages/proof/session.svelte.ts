/** The proof of one ticket while it is looked at: the wish, the light, what the paper does; kept with the ticket. */
import { address, get, isAbort, post, refusalOf, type Query } from "../../api/client";
import type { Axis, Correction, Refusal, ReportView, TicketChange, TicketView } from "../../api/types";
import { screen } from "../../draw/screen.svelte";
import { table } from "../../shell/table.svelte";
import { plainFit, same } from "./wish";

const STILL_MS = 350;
/** What is said waits longer: a next step must not wait for it. */
const TELL_MS = 800;
/** What is said at once is of a smaller picture; the command's own figures follow when nothing changes for so long. */
const FINE_MS = 1500;

export class ProofSession {
  readonly id: string;
  wish = $state<Correction>(plainFit());
  light = $state<string | null>(null);
  way = $state("");
  /** What must not suffer. */
  wishes = $state.raw<readonly string[]>([]);
  /** The tone of black and white; null for colour. */
  tone = $state<string | null>(null);
  /** What else the ticket's proof shows, by the server's name for it: another size makes other addresses. */
  #shown = $state("");
  report = $state.raw<ReportView | null>(null);
  refusal = $state<Refusal | null>(null);
  #unsaved: TicketChange = {};
  #saving: ReturnType<typeof setTimeout> | undefined;

  constructor(ticket: TicketView) {
    this.id = ticket.ticket;
    this.#take(ticket);
  }

  #take(ticket: TicketView): void {
    if (!same(this.wish, ticket.correction)) this.wish = { ...ticket.correction };
    this.light = ticket.light?.name ?? null;
    this.way = ticket.way;
    this.wishes = ticket.must_not_suffer;
    this.tone = ticket.black_and_white;
    this.#shown = ticket.shown;
  }

  /** What the picture, the report and the drawings are asked with. */
  readonly query = $derived<Query>({
    ...this.wish,
    light: this.light ?? "",
    way: this.way,
    must_not_suffer: this.wishes.join(";"),
    black_and_white: this.tone ?? "none",
    space: screen.space,
    shown: this.#shown,
  });

  /** The picture's own numbers: they change with its way into the working space, and with what `detail` draws out. */
  get pixels(): string {
    const drawn = {
      shown: this.#shown,
      way: this.way,
      must_not_suffer: this.wishes.join(";"),
      black_and_white: this.tone ?? "none",
    };
    const plain = { shown: this.#shown, way: this.way === "perceptual" ? this.way : "relative-bpc" };
    return address(`/tickets/${this.id}/pixels`, this.way === "detail" ? drawn : plain);
  }

  url(path: string, more: Query = {}): string {
    return address(`/tickets/${this.id}/${path}`, { ...this.query, ...more });
  }

  /** The proof's picture at any width in pixels. */
  picture(quality: "quick" | "fine", more: Query = {}): (widthPx: number) => string {
    const url = this.url("view", { kind: "proof", quality, ...more });
    return (widthPx) => `${url}&width=${widthPx}`;
  }

  /** The ticket was changed elsewhere; what is being changed here stays. */
  changed(ticket: TicketView): void {
    this.#shown = ticket.shown;
    if (!Object.keys(this.#unsaved).length) this.#take(ticket);
  }

  want(axis: Axis, value: number): void {
    this.wish = { ...this.wish, [axis]: value };
    this.#keep({ correction: this.wish });
  }

  wantPlain(): void {
    this.wish = plainFit();
    this.#keep({ correction: this.wish });
  }

  /** Empty: in even daylight. */
  hangIn(light: string): void {
    this.light = light || null;
    this.#keep({ light });
  }

  squeeze(way: string): void {
    this.way = way;
    this.#keep({ way });
  }

  printIn(tone: string | null): void {
    this.tone = tone;
    this.#keep({ black_and_white: tone ?? "none" });
  }

  /** Only a map chosen for the picture can look after something in it. */
  lookAfter(wishes: string[]): void {
    this.wishes = wishes;
    const chosen = this.way === "whole" || this.way === "detail";
    if (wishes.length && !chosen) this.way = "whole";
    this.#keep({ must_not_suffer: wishes, way: this.way });
  }

  #keep(change: TicketChange): void {
    this.#unsaved = { ...this.#unsaved, ...change };
    clearTimeout(this.#saving);
    this.#saving = setTimeout(() => void this.save(), STILL_MS);
  }

  /** Writes what was changed with the ticket. */
  async save(): Promise<void> {
    clearTimeout(this.#saving);
    const change = this.#unsaved;
    if (!Object.keys(change).length) return;
    try {
      await table.change(this.id, change);
      if (this.#unsaved === change) this.#unsaved = {};
      this.refusal = null;
    } catch (error) {
      this.refusal = refusalOf(error);
      if (this.refusal) this.#unsaved = {};
    }
  }

  /** Reads what the paper does, once nothing has changed for a moment, and then in full; the answer stops it. */
  tell(query: Query): () => void {
    const stop = new AbortController();
    const read = (quality: "quick" | "fine") =>
      get<ReportView>(`/tickets/${this.id}/report`, { ...query, quality }, stop.signal)
        .then((report) => {
          this.report = report;
          if (quality === "quick") wait = setTimeout(() => void read("fine"), FINE_MS);
        })
        .catch((error: unknown) => {
          if (!isAbort(error)) this.refusal = refusalOf(error);
        });
    let wait = setTimeout(() => void read("quick"), this.report ? TELL_MS : 0);
    return () => {
      clearTimeout(wait);
      stop.abort();
    };
  }

  /** Writes down that this proof was looked at, before going on. */
  async looked(): Promise<void> {
    await this.save();
    await post(`/tickets/${this.id}/proofed`).catch(() => undefined);
  }
}
