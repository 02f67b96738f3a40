/** Words of the table's two edges. */
import type { Stage } from "../api/types";

export const shell = {
  name: "wallworthy",
  skip: "Skip to the print",
  nothingYet: "nothing on the table yet",
  ticket: (id: string) => `ticket ${id}`,
  noTicket: "no ticket yet",
  more: "More",
  shelves: "Shelves",
  help: "Help",
  path: "The picture’s path",
  tabTitle: (what: string) => `${what} · wallworthy`,
  stage: {
    master: "Master",
    paper: "Paper",
    proof: "Proof",
    test: "Test",
    print: "Print",
  } satisfies Record<Stage, string>,
  needsYou: (stage: string) => `${stage}, needs you`,
  waits: (what: string) => `${what} waits`,
  question: {
    master: "Is it good enough?",
    paper: "Which one holds it?",
    proof: "How will it look?",
    test: "What says the eye?",
    print: "What exactly is sent?",
  } satisfies Record<Stage, string>,
  /** A set: the others' names stand as links after the first words. */
  hangs: {
    beside: "Hangs with",
    and: " and ",
    oneCurve: (others: number) => ` and shares ${others === 1 ? "its" : "their"} tones.`,
    ownWay: "; the way it is squeezed in treats every picture alike.",
    onPaper: (title: string, paper: string) => `${title} goes on ${paper}, of another black and white.`,
  },
  laid: "lies on the table",
  open: "open",
  dropHere: "Let go: it lands on the table.",
  asTable: "as a table",
  ticketGone: "This ticket can’t be laid on the table",
  toShelves: "Look on the shelves",
};
