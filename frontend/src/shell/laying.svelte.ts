/** A file on its way to the table: sent, read, refused; then the page goes to what it has become. */
import { isAbort, refusalOf, upload } from "../api/client";
import type { MasterFacts, ProfileUpload, Refusal } from "../api/types";
import { isProfile, takeDrops } from "./drop.svelte";
import { here } from "./route.svelte";

class Laying {
  /** The file that is being sent now. */
  file = $state<File | null>(null);
  share = $state(0);
  refusal = $state<Refusal | null>(null);
  /** The profile laid down before a picture was there, or for the picture that is. */
  profile = $state<ProfileUpload | null>(null);
  master = $state<MasterFacts | null>(null);
  #stop: AbortController | undefined;

  takeDrops(): () => void {
    return takeDrops((files) => {
      const first = files[0];
      if (!first) return false;
      void (isProfile(first) ? this.#bringProfile(first) : this.layMaster(first));
      return true;
    });
  }

  async layMaster(file: File): Promise<void> {
    here.go("/");
    const facts = await this.#send<MasterFacts>("/masters", file);
    if (!facts) return;
    this.master = facts;
    here.go(`/m/${facts.sha256}/master`);
  }

  /** A profile is a matter of the paper, wherever it was dropped. */
  async #bringProfile(file: File): Promise<void> {
    const route = here.route;
    if (route.at === "ticket") here.go(`/t/${route.ticket}/paper`);
    else if (route.at === "master") here.go(`/m/${route.sha}/paper`);
    else here.go("/");
    await this.layProfile(file);
  }

  async layProfile(file: File): Promise<ProfileUpload | null> {
    const profile = await this.#send<ProfileUpload>("/profiles", file);
    if (profile) this.profile = profile;
    return profile;
  }

  cancel(): void {
    this.#stop?.abort();
  }

  async #send<T>(path: string, file: File): Promise<T | null> {
    this.#stop?.abort();
    const stop = new AbortController();
    this.#stop = stop;
    this.file = file;
    this.share = 0;
    this.refusal = null;
    try {
      return await upload<T>(path, file, (share) => (this.share = share), stop.signal);
    } catch (error) {
      if (!isAbort(error)) this.refusal = refusalOf(error);
      return null;
    } finally {
      if (this.#stop === stop) this.file = null;
    }
  }
}

export const laying = new Laying();
