/** Where one is: the page's addresses, and going between them without loading anew. */
import type { Stage } from "../api/types";

export type Route =
  | { at: "home" }
  | { at: "master"; sha: string; stage: "master" | "paper" }
  | { at: "ticket"; ticket: string; stage: Stage }
  | { at: "phone"; key: string }
  | { at: "shelves" }
  | { at: "help" };

const STAGES: readonly string[] = ["master", "paper", "proof", "test", "print"];

export function read(path: string): Route {
  const [head, name, stage] = path.split("/").filter(Boolean);
  if (head === "t" && name && stage && STAGES.includes(stage))
    return { at: "ticket", ticket: name, stage: stage as Stage };
  if (head === "t" && name) return { at: "ticket", ticket: name, stage: "proof" };
  if (head === "m" && name) return { at: "master", sha: name, stage: stage === "paper" ? "paper" : "master" };
  if (head === "p" && name) return { at: "phone", key: name };
  if (head === "shelves" || head === "help") return { at: head };
  return { at: "home" };
}

class Here {
  route = $state<Route>(read(location.pathname));

  /** Goes to an address of the page; the place before it stays in the browser's history. */
  go(path: string, replace = false): void {
    if (path === location.pathname) return;
    if (replace) history.replaceState(null, "", path);
    else history.pushState(null, "", path);
    this.arrive();
    scrollTo(0, 0);
  }

  arrive(): void {
    this.route = read(location.pathname);
  }
}

export const here = new Here();

/** Follows links inside the page without loading it anew; put on the window. */
export function follow(event: MouseEvent): void {
  const plain = event.button === 0 && !event.ctrlKey && !event.metaKey && !event.shiftKey && !event.altKey;
  const anchor = event.target instanceof Element ? event.target.closest("a") : null;
  if (!plain || !anchor || event.defaultPrevented || anchor.target || anchor.hasAttribute("download")) return;
  if (anchor.origin !== location.origin || anchor.pathname.startsWith("/api/")) return;
  if (anchor.hash && anchor.pathname === location.pathname) return;
  event.preventDefault();
  here.go(anchor.pathname);
}
