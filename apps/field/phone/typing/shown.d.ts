// What screens are made of: rows of answers, steps of a checklist, what is drawn.

/** The answers of one row by leaf, and the type that each leaf has. */
type Row = Record<string, Value>;
interface Leaves {
  gone: boolean;
  value: number | string;
  loop: string;
  measurand: string;
  when: string;
  unit: string;
  as_typed: string;
  taken_at: string;
  basis: string;
  method: string;
  instrument: string;
  checked_twice: boolean;
  outcome: string;
  reason: string;
  note: string;
  minutes: number;
  sign: string;
  text: string;
  component: string;
  photo_ids: string[];
  decision: string;
  fine_by: string;
  who: string | null;
  fine_at: string;
  name: string;
  item: string;
  amount: string;
  make: string;
  serial: string;
}
type Group =
  | "lines"
  | "readings"
  | "findings"
  | "advice"
  | "supplies"
  | "swaps"
  | "signature"
  | "checkin";
type Rows = Record<Group, Record<string, Row>>;

/** A step as it stands: what it says after its name, and whether it is answered. */
interface Shown {
  state: string;
  sub: string;
  word: string;
  number: number;
  answered: boolean;
  url: string;
}
type LineStep = LineSent & Shown;
type ReadingStep = ReadingSent & Shown & { when: string; turn: number; key?: string };
type Step = LineStep | ReadingStep;

/** A reading as it was typed, and what it says. */
interface Item {
  seen: import("./science.js").Seen;
  typed: import("./science.js").TypedReading;
  row: Row;
}

/** A piece of advice in words, with what was decided about it. */
interface Advised {
  id: string;
  draft: import("./science.js").Draft;
  row?: Row;
  decision: string;
  reason: string;
  sentences: string[];
  cautions: string[];
  urgency: string;
  source: string;
}

interface Judged {
  rows: Rows;
  items: Record<string, Item>;
  found: import("./science.js").Assessment;
  advice: Advised[];
  ground: import("./science.js").Ground;
}

/** What every screen of a sheet starts from. */
interface Work {
  visit: Visit;
  sheet: Sheet;
  day: DayKept;
  values: Values;
  judged: Judged;
  rows: Rows;
  steps: Step[];
  list: string;
  open: boolean;
}

/** What the address says, what is kept of the day, and the ways on from here. */
interface Here {
  visit: string;
  sheet: string;
  line: string;
  loop: string;
  measurand: string;
  when: string;
  turn: string;
  finding: string;
  day: DayKept | null;
  go: (path: string) => Promise<unknown>;
  again: () => Promise<unknown>;
}

/** What a screen gives the frame. */
interface Drawn {
  title: string;
  main: HTMLElement;
  place?: (Node | string)[];
  bar?: HTMLElement | null;
}

type Child = Node | string | number | boolean | null | undefined | Child[];
type Handled = Event & { currentTarget: HTMLButtonElement };
type Attributes = Record<
  string,
  string | number | boolean | null | undefined | ((event: Handled) => unknown)
>;

/** A control that is kept, with the count of what was typed there. */
type Kept = HTMLElement & { turn?: number };
type Box = HTMLInputElement | HTMLTextAreaElement;

/** A step before all of them are counted. */
type Unnumbered = Uncounted<LineStep> | Uncounted<ReadingStep>;
type Uncounted<S> = Omit<S, "number" | "answered" | "url">;

/** A value of the translated science: Python's own kinds, which no type here can say. */
type Py = any;
