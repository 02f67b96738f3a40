/** The server's records; names and units as in its schema. Sizes are [width, height] in mm. */

export type Stage = "master" | "paper" | "proof" | "test" | "print";
export type Standing = "done" | "here" | "needs" | "open";
export type LengthUnit = "cm" | "mm" | "in";
export type Pair = [number, number];
export type Triple = [number, number, number];

export interface Notice {
  code: string;
  text: string;
}
export interface Correction {
  lightness: number;
  contrast: number;
  shadow: number;
  green_red: number;
  blue_yellow: number;
  chroma: number;
}
export type Axis = keyof Correction;
export interface PathStep {
  stage: Stage;
  state: Standing;
  text: string;
}
export interface TicketLine {
  ticket: string;
  title: string;
  master_sha256: string;
  size_mm: Pair;
  condition: string;
  light: string | null;
  stage: Stage;
  status: string;
  sheets: number;
  printed: boolean;
  updated: string;
}
export interface PageState {
  version: string;
  stages: Stage[];
  units: { length: LengthUnit };
  tickets: TicketLine[];
  empty: boolean;
  lan: boolean;
}
export interface MasterFacts {
  sha256: string;
  name: string;
  format: string;
  width_px: number;
  height_px: number;
  bits: number;
  floating: boolean;
  space: string;
  profile_description: string | null;
  captured: Record<string, string>;
  sentences: string[];
  notices: Notice[];
  needs_space: boolean;
}
export interface ProfileChoice {
  pick: number;
  description: string;
  device_space: string | null;
  usable: boolean;
  reason: string | null;
}
export interface ProfileUpload {
  upload: string;
  name: string;
  profiles: ProfileChoice[];
}
export interface Light {
  name: string;
  illuminance_lx: number;
  illuminance_interval_lx: Pair;
  cct_k: number | null;
  duv_from_d50: number;
  surround: "dark" | "dim" | "average";
  paper_white_cd_m2: number;
}
export interface Paper {
  name: string;
  surface: "gloss" | "lustre" | "matt" | "canvas" | null;
  weight_g_m2: number | null;
  stock: Record<string, number>;
  prices: Record<string, number>;
}
export interface ConditionShown {
  name: string;
  paper: string | null;
  profile_sha256: string | null;
  profile_description: string;
  icc_version: string;
  device_space: string;
  intents: string[];
  delivery: string;
  media: string | null;
  white_lab: Triple;
  black_lab: Triple;
  neutral_tint_ab: Pair;
  density_y: number;
  range_stops: number;
  roundtrip_mean_de00: number | null;
  roundtrip_p95_de00: number | null;
  gamut_volume_lab3: number | null;
  guess: boolean;
  white_hex: string;
  steps_hex: string[];
}
export interface DisplayFields {
  name: string;
  profile_description: string;
  white_cd_m2: number | null;
  calibrated_on: string | null;
}
export interface LightWords {
  words: string;
  illuminance_lx: number;
}
export interface Things {
  papers: Paper[];
  conditions: ConditionShown[];
  lights: Light[];
  displays: DisplayFields[];
  generic_surfaces: string[];
  light_words: LightWords[];
  ways: string[];
}
export interface SheetLine {
  sheet_no: number;
  at: string;
  mode: string;
  tiles: number;
  judged: boolean;
  dry_from: string;
}
export interface FinalLine {
  final_no: number;
  at: string;
  file_name: string;
  bytes: number | null;
  format: string;
  bits: number;
  density_ppi: number;
  sharpen: string;
  delivery: string;
  way: string;
  correction: Correction;
  current: boolean;
}
export interface TicketView {
  ticket: string;
  title: string;
  master: MasterFacts;
  size_mm: Pair;
  sheet_mm: Pair;
  margins_mm: [number, number, number, number];
  border_mm: number;
  distance_mm: number;
  density_ppi: number;
  crop_px: [number, number, number, number] | null;
  fill: boolean;
  condition: ConditionShown;
  guess: boolean;
  delivery: string;
  way: string;
  correction: Correction;
  correction_origin: "zero" | "house" | "user";
  light: Light | null;
  display: string | null;
  stage: Stage;
  path: PathStep[];
  white_hex: string;
  sheets: SheetLine[];
  finals: FinalLine[];
  events: { at: string; kind: string; detail: Record<string, unknown> }[];
  printed: boolean;
  notices: Notice[];
  created: string;
  updated: string;
}
export interface Finding {
  n: number;
  text: string;
  number: string;
  box: [number, number, number, number];
  loss: number;
}
export interface LadderFigures {
  lo: number;
  hi: number;
  land: number[];
  share: number[];
}
export interface RoseFigures {
  picture: number[];
  paper: number[];
}
export interface ReportView {
  heading: string;
  findings: Finding[];
  rest_text: string;
  sentences: string[];
  figures: {
    out_of_range_pct: number;
    loss_mean_de00: number;
    loss_p95_de00: number;
    loss_max_de00: number;
    range_before_lstar: Pair;
    range_after_lstar: Pair;
    out_of_display_pct: number;
    display_white_match_cd_m2: number | null;
    lut_size: number | null;
    lut_mean_de00: number;
    lut_p999_de00: number | null;
    lut_max_de00: number;
  };
  ladder: LadderFigures;
  rose: RoseFigures;
  light_text: string | null;
  display_text: string;
}
export interface TilesInfo {
  width_px: number;
  height_px: number;
  tile_px: number;
  levels: number;
  ppi: number;
  px_per_mm: number;
}
export type JobState = "waiting" | "running" | "done" | "failed" | "cancelled";
export interface Refusal {
  code: string;
  text: string;
  mend: string;
  where: string | null;
}
export interface JobView {
  job: string;
  kind: "sheet" | "final" | "demo" | "scan";
  ticket: string | null;
  state: JobState;
  step: string;
  share: number;
  left_s: number | null;
  result: Record<string, unknown> | null;
  error: Refusal | null;
  at: string;
}
export interface Hold {
  mine: boolean;
  since: string;
}
