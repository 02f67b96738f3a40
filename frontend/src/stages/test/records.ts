/** What the server says of a sheet; from its schema. */
import type { components } from "../../api/schema";

type Schemas = components["schemas"];

export type SheetView = Schemas["SheetView"];
export type VerdictView = Schemas["VerdictView"];
export type VerdictAsked = Schemas["VerdictAsked"];
export type SaidOfSheet = Schemas["SaidOfSheet"];
export type Reading = Schemas["ReadbackAnswer"];
export type PhoneKey = Schemas["PhoneKey"];
export type PhoneSheet = Schemas["PhoneSheet"];
