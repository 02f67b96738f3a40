/** What happens behind the page, as it happens: long work, and tickets changed elsewhere. */
import { get } from "./client";
import { link } from "./link.svelte";
import type { JobView } from "./types";

class Events {
  /** All jobs since the program started, by their name. */
  jobs = $state<Record<string, JobView>>({});
  #source: EventSource | undefined;
  #changed = new Set<(ticket: string) => void>();
  #ended = new Set<(job: JobView) => void>();

  open(): void {
    if (this.#source) return;
    this.#source = new EventSource("/api/events");
    this.#source.addEventListener("job", (event) => this.#job(JSON.parse(event.data) as JobView));
    this.#source.addEventListener("ticket", (event) => {
      const { ticket } = JSON.parse(event.data) as { ticket: string };
      for (const told of this.#changed) told(ticket);
    });
    this.#source.onerror = () => {
      this.#source?.close();
      this.#source = undefined;
      void link.tryAgain().then(() => {
        if (!link.gone) setTimeout(() => this.open(), 1000);
      });
    };
    void this.#fetch();
  }

  async #fetch(): Promise<void> {
    try {
      const { jobs } = await get<{ jobs: JobView[] }>("/jobs");
      for (const job of jobs) this.#job(job);
    } catch {
      // nothing to show then; the link tells the rest
    }
  }

  #job(job: JobView): void {
    const before = this.jobs[job.job]?.state;
    this.jobs[job.job] = job;
    const over = job.state !== "waiting" && job.state !== "running";
    if (over && before !== job.state) for (const told of this.#ended) told(job);
  }

  /** Puts in a job that has just been asked for, so that it shows at once. */
  take(job: JobView): void {
    this.#job(job);
  }

  /** Runs `told` when a ticket has changed; the answer takes it off. */
  onTicket(told: (ticket: string) => void): () => void {
    this.#changed.add(told);
    return () => this.#changed.delete(told);
  }

  /** Runs `told` when a job has ended, one way or another; the answer takes it off. */
  onEnd(told: (job: JobView) => void): () => void {
    this.#ended.add(told);
    return () => this.#ended.delete(told);
  }
}

export const events = new Events();
link.onBack(() => events.open());
