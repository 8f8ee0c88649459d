// The shapes of what the desk sends (`desk/views.py`, `form.py`, `garments.py`, `checks/report.py`) and
// of what the page's scripts hand each other. For the checker alone; the desk does not serve it.

/** Round and stitch, from 1. */
export type Place = [round: number, stitch: number];
/** Two corners, whichever. */
export type Box = [Place, Place];
export type Point = [x: number, y: number];
export type Numbers4 = [number, number, number, number];
/** x, y as fractions of the picture, radius as one of its width. */
export type Spot = [number, number, number];
/** What is marked belongs to the subject, or does not. */
export type Side = "keep" | "leave";
/** A round mark of the subject: middle and radius in pixels of the picture. */
export type Mark = [x: number, y: number, radius: number, side: Side];
/** How a subject was found, and the picture that shows it, as an address; null where all is kept. */
export interface SubjectShown {
  how: "found" | "marked" | "box" | "file" | "opacity" | "unsure" | "none";
  picture: string | null;
}

export type Level = "error" | "warning" | "note";
export type Counts = Record<Level, number>;
export interface Finding {
  piece?: string;
  level: Level;
  rule: string;
  message: string;
  mend: string;
  round?: number | null;
  stitch?: number | null;
  length?: number | null;
}
export interface Found {
  findings: Finding[];
  counts: Counts;
  mendable: boolean;
}

export interface Yarn {
  key: string;
  name: string;
  colour: string;
  L: number;
  grey: string;
  ink: string;
  /** The plain word for its colour, where its name is one; else its name. */
  word: string;
}
export interface ShelfYarn {
  name: string;
  colour: string;
  L: number;
}
/** A yarn as an edit sends it; `was` is the key it had. */
export interface ListedYarn {
  was: string | null;
  name: string;
  colour: string;
}
export interface Chart {
  title: string;
  worked: "round" | "flat";
  hand: "right" | "left";
  aspect: number;
  rows: string[];
  fixed: string[] | null;
  catches: [round: number, stitch: number, yarn: string][];
  yarns: Yarn[];
}
export interface Report {
  stitches: number;
  rounds: number;
  worked: string;
  width_cm: number;
  height_cm: number;
  live: number;
  longest_float: number;
  longest_uncaught: number;
  float_limit: number;
  catches: number;
  moved: number;
  isolated: number;
  ends: number;
  remarks: string[];
  strands: string[];
  yarns: { name: string; stitches: number; share: number }[];
  pairs: { first: string; second: string; rounds: number }[];
}
interface Score {
  ssim: number;
}
interface Alike {
  whole: Score;
  subject: Score | null;
}
export interface Likeness {
  chart?: Alike;
  ceiling: Alike;
  words: string;
}
/** Settings by name, of the kinds that the form's fields tell. */
export type Settings = Record<string, any>;
export interface View extends Found {
  id: string;
  revision: number;
  draft: boolean;
  undo: string | null;
  redo: string | null;
  follows: boolean;
  picture: string | null;
  settings: Settings;
  chart: Chart;
  report: Report;
  window: Numbers4 | null;
  thing: Choice | null;
  pieces?: PieceView[];
  made: { likeness?: Likeness | null; gap?: number | null };
}
export type Why = "open" | "change" | "draft";
export type Heard = (view: View, why: Why, action: string) => void;

/** An edit as `desk/edits.py` reads it. */
export type Edit = { kind: string } & Record<string, unknown>;

export interface Facts {
  likeness?: Likeness | null;
  pairs: {
    first: string;
    second: string;
    verdict: "strong" | "reads" | "soft" | "spoiled" | "alike";
    reason: string;
    reads_to_m: { single: number };
  }[];
  amounts: { yarns: Amount[]; remarks: string[] };
}
export interface Amount {
  name: string;
  metres: number;
  grams: number;
  balls: number;
  short_g: number;
  stock_g: number;
}

export interface Field {
  name: string;
  label: string;
  help: string;
  unit: string;
  kind: "str" | "int" | "float" | "bool";
  low: number | null;
  high: number | null;
  optional: boolean;
  choices: { value: string; label: string }[];
  default: string | number | boolean | null;
  from_picture: boolean;
}
export interface Group {
  title: string;
  fields: Field[];
}
export interface Kind {
  name: string;
  noun: string;
  first: boolean;
  description: string;
  sizes: { value: string; label: string; measures: string }[];
  fields: (Field & { rank: "first" | "own" | "more" })[];
}
/** What a project makes: a kind of thing and its options, and how many stitches were painted on it. */
export interface Choice {
  kind: string;
  options: Settings;
  painted: number;
}
/** What the tools work on: the project's chart, or a piece of the thing in hand. */
export interface InHand extends Found {
  chart: Chart;
  report: Report;
}
export interface PieceView extends InHand {
  name: string;
  label: string;
  /** The piece that is its mirror image. */
  other: string | null;
}
/** Corners as hundredths of a centimetre, x to the right and y upwards; eight numbers a stitch. */
export interface LayerView {
  cells: number[];
  /** For each cell the number of its stitch, counted through all pieces. */
  stitches: number[];
  outline: number[];
  ribs: [polygon: number[], colour: string][];
  plain: [polygon: number[], colour: string][];
}

/** A heading of what is told in words, and its lines. */
export interface Section {
  heading: string;
  lines: string[];
}

export interface SideView {
  caption: string;
  /** Views of one side are seen together. */
  side: string;
  facts: string[];
  box: Numbers4;
  layers: LayerView[];
}
export interface ThingView {
  kind: string;
  options: Settings;
  title: string;
  painted: number;
  views: SideView[];
  pieces: PieceView[];
  pattern: Section[];
  remarks: string[];
}
/** A frame that is proposed: the settings that take it, and a little chart of it as an address. */
export interface Look {
  name: string;
  description: string;
  words: string[];
  front: string;
}
export interface Card {
  id: string;
  title: string;
  changed: string;
  trouble?: string;
  kind: string | null;
  stitches: number;
  rounds: number;
  yarns: string[];
}
export interface Symbol {
  lines: Point[][];
  filled: boolean;
}
export interface Desk {
  cautions: string[];
  /** For each rule a sentence for all its findings, and what to know of them. */
  findings: Record<string, [words: string, know: string]>;
  form: Group[];
  sheets: Field[];
  /** Of counting a gauge on a photo. */
  gauge: Field[];
  garments: Kind[];
  symbols: Symbol[];
  projects: Card[];
  shelf: ShelfYarn[];
  ready: boolean;
}

/** First and last column and row in view. */
export interface Seen {
  x0: number;
  x1: number;
  y0: number;
  y1: number;
}
/** Stitches to be painted over the chart, each in its own colour or in that of all. */
export interface Preview {
  places: [round: number, stitch: number, colour?: string][];
  colour: string;
}
export interface Overlay {
  cursor: Place | null;
  selection: Box | null;
  preview: Preview | null;
  findings: Finding[];
  chosen: Finding | null;
}
/** What a pointer does while it is down. */
export interface Stroke {
  kind: string;
  from?: Place;
  cells?: Map<string, Place>;
  on?: boolean;
}

type Child = Node | string | number | false | null | undefined;
/** What an element may be given to hold; lists are flattened once. */
export type Children = (Child | Child[])[];
/** An input or select that changed. */
type Changed = Event & { target: HTMLInputElement };
export interface Properties {
  [name: string]: unknown;
  onclick?: (event: MouseEvent) => unknown;
  onchange?: (event: Changed) => unknown;
  onkeydown?: (event: KeyboardEvent) => unknown;
  ontoggle?: (event: Event & { target: HTMLDetailsElement }) => unknown;
  onfocus?: (event: FocusEvent) => unknown;
}
