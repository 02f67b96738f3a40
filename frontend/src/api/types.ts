/** The server's records by their own names; `schema.d.ts` is made from its code by `npm run types`. */
import type { components } from "./schema";

type Records = components["schemas"];

export type Notice = Records["Notice"];
export type Correction = Records["Correction"];
export type Axis = keyof Correction;
export type PathStep = Records["PathStep"];
export type Stage = PathStep["stage"];
export type Standing = PathStep["state"];
export type Units = Records["Units"];
export type LengthUnit = Records["Units"]["length"];
export type Pair = [number, number];
export type Triple = [number, number, number];

export type PageState = Records["PageState"];
export type TicketLine = Records["TicketLine"];
export type TicketView = Records["TicketView"];
export type TicketAsked = Records["TicketAsked"];
export type TicketChange = Records["TicketChange"];
export type MasterFacts = Records["MasterFacts"];
export type ProfileChoice = Records["ProfileChoice"];
export type ProfileUpload = Records["ProfileUpload"];
export type Things = Records["Things"];
export type Paper = Records["Paper"];
export type RankingView = Records["RankingView"];
export type RankedPaper = Records["RankedPaper"];
export type ConditionShown = Records["ConditionShown"];
export type Light = Records["Light"];
export type LightWords = Records["LightWords"];
export type DisplayFields = Records["DisplayFields"];
export type SheetLine = Records["SheetLine"];
export type SheetView = Records["SheetView"];
export type VerdictView = Records["VerdictView"];
export type FinalLine = Records["FinalLine"];
export type ReportView = Records["ReportView"];
export type Finding = Records["Finding"];
export type LadderFigures = Records["Ladder"];
export type RoseFigures = Records["Rose"];
export type TilesInfo = Records["TilesInfo"];
export type JobView = Records["JobView"];
export type JobState = JobView["state"];
export type Refusal = Records["Refusal"];
export type Hold = Records["Hold"];
export type PhoneKey = Records["PhoneKey"];
export type PhoneSheet = Records["PhoneSheet"];

export type AppraisalView = Records["AppraisalView"];
export type AppraisedFinding = Records["AppraisedFinding"];
export type AppraisedRung = Records["AppraisedRung"];
export type Grade = AppraisalView["grade"];
