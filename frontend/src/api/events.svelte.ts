/** What happens behind the page, as it happens: long work, and tickets changed elsewhere. */
import { tab } from "../shell/tab";
import { del, get } from "./client";
import { Line, type Heard } from "./line";
import { link } from "./link.svelte";
import type { JobView } from "./types";

class Events {
  /** All jobs since the program started, by their name. */
  jobs = $state<Record<string, JobView>>({});
  /** How much of a master has been looked through, 0-1, by its fingerprint. */
  looked = $state<Record<string, number>>({});
  #line = new Line((kind, data) => this.#hear(kind, data));
  #changed = new Set<(ticket: string | null, mine: boolean) => void>();
  #held = new Set<(ticket: string) => void>();
  #ended = new Set<(job: JobView) => void>();

  open(): void {
    this.#line.open();
    this.#line.again();
    void this.#fetch();
  }

  #hear(kind: Heard, data: string): void {
    if (kind === "again") this.#readAgain();
    else if (kind === "lost") this.#lost();
    else if (kind === "job") this.#job(JSON.parse(data) as JobView);
    else if (kind === "look") {
      const { master, share } = JSON.parse(data) as { master: string; share: number };
      this.looked[master] = share;
    } else {
      const { ticket, by } = JSON.parse(data) as { ticket: string; by?: string | null };
      if (kind === "hold") for (const told of this.#held) told(ticket);
      else for (const told of this.#changed) told(ticket, by === tab);
    }
  }

  #readAgain(): void {
    void this.#fetch();
    for (const told of this.#changed) told(null, false);
  }

  #lost(): void {
    void link.tryAgain().then(() => {
      if (!link.away) setTimeout(() => this.#line.again(), 1000);
    });
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

  /** Stops a job that runs or waits; the server's refusal is raised. */
  async cancel({ job }: JobView): Promise<void> {
    this.#job(await del<JobView>(`/jobs/${job}`));
  }

  /**
   * Runs `told` when a ticket has changed, with null when any may have, and whether this very tab changed it; the
   * answer takes it off.
   */
  onTicket(told: (ticket: string | null, mine: boolean) => void): () => void {
    this.#changed.add(told);
    return () => this.#changed.delete(told);
  }

  /** Runs `told` when another tab has taken a ticket in hand; the answer takes it off. */
  onHold(told: (ticket: string) => void): () => void {
    this.#held.add(told);
    return () => this.#held.delete(told);
  }

  /** Runs `told` when a job has ended, one way or another; the answer takes it off. */
  onEnd(told: (job: JobView) => void): () => void {
    this.#ended.add(told);
    return () => this.#ended.delete(told);
  }
}

export const events = new Events();
link.onBack(() => events.open());
