/** Single keys for what is done often; they work outside text fields and can be switched off under Help. */
import { keys } from "../stages/help/keys.svelte";

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
