/** How a file is written: what the person chose, and the defaults for the rest. */
import type { FinalLine, Pair, TicketView } from "../../api/types";
import type { MarginsMm } from "../../draw/sheet";

export type Delivery = "numbers" | "standard";
export type Format = "tiff" | "png" | "jpeg";

export interface Settings {
  delivery: Delivery;
  format: Format;
  bits: "8" | "16";
  ppi: string;
  sharpen: "auto" | "none";
}

const MM_PER_INCH = 25.4;

/** What inkjets and labs commonly rasterise at; the same defaults as the command line's. */
const PPI: Record<Delivery, number> = { numbers: 360, standard: 300 };

export function defaults(delivery: Delivery): Settings {
  return delivery === "numbers"
    ? { delivery, format: "tiff", bits: "16", ppi: String(PPI.numbers), sharpen: "auto" }
    : { delivery, format: "jpeg", bits: "8", ppi: String(PPI.standard), sharpen: "auto" };
}

/** Whether the paper has numbers of its own to send: a guess without a profile has none. */
export function deliveries(ticket: TicketView): Delivery[] {
  return ticket.guess ? ["standard"] : ["numbers", "standard"];
}

const edge = (mm: number, ppi: number): number => Math.round((mm / MM_PER_INCH) * ppi);

/** Width and height in pixels, bare paper included. */
export function filePixels(sizeMm: Pair, marginsMm: MarginsMm, ppi: number): Pair {
  const [top, right, bottom, left] = marginsMm.map((mm) => edge(mm, ppi)) as [number, number, number, number];
  return [edge(sizeMm[0], ppi) + left + right, edge(sizeMm[1], ppi) + top + bottom];
}

/** The body of the request; null when the density is no number. */
export function wished(settings: Settings): Record<string, unknown> | null {
  const ppi = Number(settings.ppi.replace(",", "."));
  if (!Number.isFinite(ppi) || ppi <= 0) return null;
  const { delivery, format, sharpen } = settings;
  return { delivery, format, sharpen, ppi, bits: format === "jpeg" ? 8 : Number(settings.bits) };
}

/** What a file that was made was made with. */
export function settingsOf(final: FinalLine): Settings {
  return {
    delivery: final.delivery === "standard" ? "standard" : "numbers",
    format: final.format as Format,
    bits: final.bits === 8 ? "8" : "16",
    ppi: String(final.density_ppi),
    sharpen: final.sharpen === "none" ? "none" : "auto",
  };
}
