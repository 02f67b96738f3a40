/** Files dropped anywhere on the window, given to whoever on the page can use them. */

/** Takes files and answers true, or leaves them to the next. */
export type Taker = (files: File[]) => boolean;

const takers: Taker[] = [];

/** The newest taker is asked first; the answer takes it off. */
export function takeDrops(taker: Taker): () => void {
  takers.push(taker);
  return () => void takers.splice(takers.indexOf(taker), 1);
}

export function give(files: File[]): void {
  if (files.length) takers.findLast((taker) => taker(files));
}

class Hovering {
  over = $state(false);
}
export const hovering = new Hovering();

export const isProfile = (file: File): boolean => /\.(icc|icm|zip)$/i.test(file.name);

/** Lets the window take drops; the answer stops it. */
export function listen(): () => void {
  const carriesFiles = (event: DragEvent) => event.dataTransfer?.types.includes("Files") ?? false;
  const over = (event: DragEvent) => {
    if (!carriesFiles(event)) return;
    event.preventDefault();
    hovering.over = true;
  };
  const leave = (event: DragEvent) => {
    if (!event.relatedTarget) hovering.over = false;
  };
  const drop = (event: DragEvent) => {
    if (!carriesFiles(event)) return;
    event.preventDefault();
    hovering.over = false;
    give([...(event.dataTransfer?.files ?? [])]);
  };
  addEventListener("dragover", over);
  addEventListener("dragleave", leave);
  addEventListener("drop", drop);
  return () => {
    removeEventListener("dragover", over);
    removeEventListener("dragleave", leave);
    removeEventListener("drop", drop);
  };
}
