/** States: waiting, long work, refusals, the server gone, two tabs. */
export const states = {
  jobsLabel: "What is being made",
  jobKinds: {
    sheet: "a test sheet",
    final: "the print file",
    demo: "the demo",
    scan: "the reading of a scan",
  } as Record<string, string>,
  job: (kind: string, ticket: string | null) => (ticket ? `${kind} for ${ticket}` : kind),
  percent: (percent: number) => `${percent} %`,
  waiting: "waits for its turn",
  leftSentence: (seconds: number): string => {
    const left = states.left(seconds);
    return `${left.charAt(0).toUpperCase()}${left.slice(1)}.`;
  },
  left: (seconds: number): string => {
    if (seconds < 50) return "less than a minute left";
    const minutes = Math.round(seconds / 60);
    return minutes <= 1 ? "about a minute left" : `about ${minutes} minutes left`;
  },
  cancel: "Cancel",
  cancelWhat: (what: string) => `Cancel ${what}`,
  failed: (what: string) => `It did not work: ${what}.`,
  failedSafe: "No half-made file was left behind, and nothing on record has changed.",
  understood: "Put this away",
  show: "Show it",
  tabTitle: (percent: number, title: string) => `${percent} % ${title}`,

  refused: "This can’t be done as it stands.",
  found: "What was found",
  where: "Where",
  code: "Named",
  again: "Try again",
  another: "Begin another print of this picture",

  gone: "The tool has stopped behind this page.",
  goneMore: (since: string) =>
    `Nothing is lost: all you did until ${since} is on record. Start it again with`,
  goneCommand: "wallworthy open",
  goneThen:
    "; it opens at a new address, with a fresh key. Where that is open in this browser, this page goes on by itself.",
  goneTry: "Try again",
  goneTrying: "Looking ...",
  back: "It is back.",
  locked: "The tool was started anew, and this page has its old key.",
  lockedMore: "Nothing is lost. Open the address that was printed by",
  lockedThen:
    "; this page then goes on by itself. Where it was used already, start once more: each start prints a fresh one.",

  tabs: "This ticket is open in another tab.",
  tabsMore: (since: string, stage: string | null) =>
    `${stage ? `That one stands at ‘${stage}’ and` : "That one"} has held it since ${since}. You can look here; to change anything, take it over.`,
  tabsTake: "Take it over",
  tabsLost: "Another tab has taken this ticket over.",
};
