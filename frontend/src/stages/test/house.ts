/** What earlier verdicts taught about a paper in a light. */
import { get, post } from "../../api/client";
import type { components } from "../../api/schema";

export type House = components["schemas"]["HouseAnswer"];
type HouseAsked = components["schemas"]["HouseAsked"];

export const readHouse = (ticket: string): Promise<House> => get<House>(`/tickets/${ticket}/house`);
export const tellHouse = (ticket: string, what: Partial<HouseAsked>): Promise<House> =>
  post<House>(`/tickets/${ticket}/house`, what);
