/** A name for this tab that survives loading it anew, but is not shared with a copy of it. */

const NAME = "wallworthy.tab";

function fresh(): string {
  return Array.from(crypto.getRandomValues(new Uint8Array(12)), (byte) =>
    byte.toString(16).padStart(2, "0"),
  ).join("");
}

function own(): string {
  // Left there when the page was put away; a copy of a living tab finds nothing and takes a fresh name.
  const left = sessionStorage.getItem(NAME);
  sessionStorage.removeItem(NAME);
  return left ?? fresh();
}

export const tab = own();

addEventListener("pagehide", () => sessionStorage.setItem(NAME, tab));
addEventListener("pageshow", (event) => {
  if (event.persisted) sessionStorage.removeItem(NAME);
});
