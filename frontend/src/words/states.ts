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

  gone: "The tool has stopped behind this page.",
  goneMore: (since: string) =>
    `Nothing is lost: all you did until ${since} is on record. Start it again with`,
  goneCommand: "wallworthy open",
  goneThen: "; this page finds it by itself.",
  goneTry: "Try again",
  goneTrying: "Looking ...",
  back: "It is back.",
  locked: "This page has no key.",
  lockedMore: "Each start has a fresh key. Open the address that was printed when the tool was started:",

  tabs: "This ticket is open in another tab.",
  tabsMore: (since: string, stage: string | null) =>
    `${stage ? `That one stands at ‘${stage}’ and` : "That one"} has held it since ${since}. You can look here; to change anything, take it over.`,
  tabsTake: "Take it over",
  tabsLost: "Another tab has taken this ticket over.",
};
