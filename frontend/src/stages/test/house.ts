/** What earlier verdicts taught about a paper in a light. */
import { get, post } from "../../api/client";
import type { Corr } from "../../words/axes";

export interface House {
  condition: string;
  light: string | null;
  pictures: number;
  correction: Corr;
  sd: Corr;
  sentences: readonly string[];
}

export const readHouse = (ticket: string): Promise<House> => get<House>(`/tickets/${ticket}/house`);
export const forgetHouse = (ticket: string, what: { reset?: boolean; changed?: string }): Promise<House> =>
  post<House>(`/tickets/${ticket}/house`, what);
