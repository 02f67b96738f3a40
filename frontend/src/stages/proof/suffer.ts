/** What must not suffer: kinds by name, and places in the master's own pixels. */
import type { Finding, TicketView } from "../../api/types";

export type Fractions = readonly [x: number, y: number, width: number, height: number];

/** A touch without a stroke means a place of this share of the shorter edge, each way round it. */
const REACH = 0.08;

/** The part of the master that is printed: row, column, height, width. */
function shown(ticket: TicketView): readonly [number, number, number, number] {
  const [row, column, height, width] = ticket.crop_px ?? [
    0,
    0,
    ticket.master.height_px,
    ticket.master.width_px,
  ];
  return [row ?? 0, column ?? 0, height ?? 1, width ?? 1];
}

/** A place of the picture, in fractions of it, as the server keeps it. */
export function placeText(ticket: TicketView, [x, y, wide, high]: Fractions): string {
  const [row, column, height, width] = shown(ticket);
  const left = Math.min(width - 1, Math.max(0, Math.round(x * width)));
  const top = Math.min(height - 1, Math.max(0, Math.round(y * height)));
  return [
    row + top,
    column + left,
    Math.max(1, Math.min(height - top, Math.round(high * height))),
    Math.max(1, Math.min(width - left, Math.round(wide * width))),
  ].join(",");
}

/** Where a kept place lies, in fractions of the picture; null for a kind by name. */
export function placeOf(ticket: TicketView, wish: string): Fractions | null {
  const box = wish.split(",").map(Number);
  if (box.length !== 4 || box.some((edge) => !Number.isFinite(edge))) return null;
  const [row, column, height, width] = shown(ticket);
  const [top = 0, left = 0, high = 0, wide = 0] = box;
  return [(left - column) / width, (top - row) / height, wide / width, high / height];
}

/** A place from where a finger came down to where it left, in fractions of a picture of that proportion. */
export function touchedPlace(
  from: readonly [number, number],
  to: readonly [number, number],
  ratio: number,
): Fractions {
  const [left, right] = [Math.min(from[0], to[0]), Math.max(from[0], to[0])];
  const [top, bottom] = [Math.min(from[1], to[1]), Math.max(from[1], to[1])];
  const [sideways, upright] = ratio > 1 ? [REACH / ratio, REACH] : [REACH, REACH * ratio];
  if (right - left > sideways / 2 && bottom - top > upright / 2)
    return [left, top, right - left, bottom - top];
  const [x, y] = [Math.max(0, from[0] - sideways), Math.max(0, from[1] - upright)];
  return [x, y, Math.min(1 - x, 2 * sideways), Math.min(1 - y, 2 * upright)];
}

/** 'upper left', by where its middle lies: the third of the picture across and down, 0 to 2. */
export function thirds([x, y, wide, high]: Fractions): readonly [number, number] {
  const third = (middle: number) => Math.min(2, Math.max(0, Math.floor(3 * middle)));
  return [third(x + wide / 2), third(y + high / 2)];
}

/** The place a finding speaks of. */
export const ofFinding = (ticket: TicketView, finding: Finding): string =>
  placeText(ticket, finding.box as Fractions);
