/** Single keys for what is done often; they work outside text fields and can be switched off under Help. */

const KEPT = "wallworthy.keys";

class Keys {
  #on = $state(localStorage.getItem(KEPT) !== "off");

  get on(): boolean {
    return this.#on;
  }

  set on(value: boolean) {
    this.#on = value;
    localStorage.setItem(KEPT, value ? "on" : "off");
  }

  switch(on: boolean): void {
    this.on = on;
  }

  /** Whether a key is meant for the page: keys are on, nothing is being typed, no other key is held. */
  meant(event: KeyboardEvent): boolean {
    if (!this.#on || event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return false;
    const target = event.target;
    if (!(target instanceof HTMLElement)) return true;
    if (target.isContentEditable || target.matches("textarea, select")) return false;
    return !target.matches("input:not([type=checkbox], [type=radio], [type=button], [type=file])");
  }
}

export const keys = new Keys();

export interface Press {
  down: () => void;
  up?: () => void;
}

/** Hears the given keys (lower case) until the answer is called. */
export function hear(presses: Record<string, Press>): () => void {
  const held = new Set<string>();
  const down = (event: KeyboardEvent) => {
    const key = event.key.toLowerCase();
    const press = presses[key];
    if (!press || event.repeat || !keys.meant(event)) return;
    held.add(key);
    press.down();
  };
  const up = (event: KeyboardEvent) => {
    const key = event.key.toLowerCase();
    if (held.delete(key)) presses[key]?.up?.();
  };
  const away = () => {
    for (const key of held) presses[key]?.up?.();
    held.clear();
  };
  addEventListener("keydown", down);
  addEventListener("keyup", up);
  addEventListener("blur", away);
  return () => {
    removeEventListener("keydown", down);
    removeEventListener("keyup", up);
    removeEventListener("blur", away);
  };
}
