import { link } from "../api/link.svelte";

/** Whether what changes the ticket is at rest: this tab looks, and changes nothing. */
class Holding {
  /** Another tab has the open ticket in hand. */
  elsewhere = $state(false);
  /** So has another tab, or nothing behind the page would hear of it. */
  readonly resting = $derived(this.elsewhere || link.away);
}

export const holding = new Holding();
