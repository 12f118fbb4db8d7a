// What the server sends of a day (apps/field/phone/day.py), and of who is signed in.

interface Day {
  made_at: string;
  day: string;
  language: string;
  zone: string;
  firm: { name: string; phone: string };
  load: string[];
  words: Words;
  catalogue: Catalogue;
  bands: [measurand: string, context: string, limits: Record<string, number | null>][];
  cards: { title: string; steps: string[] }[];
  visits: Visit[];
}

interface Words {
  texts?: Record<string, string>;
  units?: Record<string, string>;
  meanings?: Record<string, Record<string, string>>;
  doubts?: Record<string, string>;
  judgements?: Record<string, string>;
  urgencies?: Record<string, string>;
  methods?: Record<string, string>;
  reasons?: Record<string, string>;
  outcomes?: Record<string, string>;
  measurands?: Record<string, string>;
}

interface Catalogue {
  measurands: Record<string, Measurand>;
  tasks: Record<string, Task>;
  signs: Record<string, { name: string; about: string }>;
  sources: Record<string, string>;
}

/** Limits in the base unit. `waits`: names and seconds of the kit's waiting times. */
interface Measurand {
  name: string;
  unit: string;
  units: string[];
  decimals: number;
  derived?: boolean;
  hard_low?: number | null;
  hard_high?: number | null;
  ask_low?: number | null;
  ask_high?: number | null;
  basis_choices?: string[];
  misread?: string;
  waits?: [string, number][];
}

interface Task {
  done_when?: string;
  caution?: string;
  tools?: string[];
  skip?: string[];
}

interface Visit {
  id: string;
  rev: number;
  state: string;
  state_words: string;
  start: string;
  end: string;
  reason: string;
  place: {
    name: string;
    address: string;
    access: string;
    gate: string;
    gate_later: boolean;
    dog: boolean;
    geo: string;
  };
  // photos: what they allow; absent in a day that an older server sent
  client: { name: string; words: string; photos?: string; photos_words?: string };
  load: string[];
  differs: string[];
  values: ValuesSent;
  sheets: Sheet[];
}

type ValuesSent = Record<string, { v: Json; r: number }>;

interface Sheet {
  id: string;
  visit: string;
  system: { id: string; name: string; kind: string };
  loops: Loop[];
  steps: StepSent[];
  lines: { id: string; code: string }[];
  left_running: { code: string; name: string }[];
  components: { id: string; name: string; kind: string; serial: string }[];
  last: Record<string, Last>;
  contexts: Record<string, Record<string, unknown>>;
  situation: SituationSent;
  advice: { id: string; urgency: string; text: string }[];
  holds: string[];
  values: ValuesSent;
  sketch: string;
}

interface Loop {
  id: string;
  kind: string;
  name: string;
}

/** The last trusted reading of a place. */
interface Last {
  value: number;
  unit: string;
  typed_unit: string;
  basis: string;
  method: string;
  instrument: string;
  word: string;
  on_words: string;
}

/** What is known of a system; the science alone reads it. */
type SituationSent = { altitude_m?: number; signs?: string[] } & Record<string, unknown>;

interface LineSent {
  kind: "line";
  line: string;
  code: string;
  name: string;
  short: string;
  group: string;
  last: boolean;
  minutes_words: string;
  last_words: string;
  readings: [loop: string, measurand: string][];
}
interface ReadingSent {
  kind: "reading";
  loop: string;
  measurand: string;
  name: string;
  short: string;
  group: string;
  of?: string;
  last_words?: string;
  besides?: boolean;
  last?: undefined;
}
type StepSent = LineSent | ReadingSent;

interface SessionSent {
  user: { id: string; name: string } | null;
  csrf: string;
  version: string;
  min_version: number;
  cut_off?: boolean;
  held_seq?: number;
}
