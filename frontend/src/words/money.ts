/** Prices as the person told them: never converted, with their own code or sign when one was given. */
import { fixed } from "./figures";

/** '1.60', or '1.60 CHF', which stays on one line. */
export function money(price: number, currency: string): string {
  return currency ? `${fixed(price, 2)}\u00a0${currency}` : fixed(price, 2);
}
