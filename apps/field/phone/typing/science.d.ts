// The translated science, as far as the screens ask for it (ENTRIES in apps/field/phone/bundle.py).
import type { Bag, Dict, Made } from "../../static/field/phone/py.js";

interface Band {
  t_lo: number | null;
  t_hi: number | null;
  red_lo: number | null;
  red_hi: number | null;
}
interface Doubt {
  code: string;
  params: Dict<string, number | string>;
  suggestion: number | null;
}
export interface TypedReading {
  key: string;
  method: string;
}
export interface Seen {
  key: string;
  loop: string;
  measurand: string;
  value: number;
  doubts: Doubt[];
  trusted: boolean;
  word: string;
  band: Band | null;
  refused: string;
}
export interface Draft {
  rule: string;
  loop: string;
  urgency: string;
  source: string;
  dose: number | null;
  cautions: string[];
  answers: string[];
}
export interface Assessment {
  advice: Draft[];
}
export interface Sentence {
  msgid: string;
  params: Dict<string, number | string>;
  unit: string;
  measurand: string;
}
interface Quantity {
  title: string;
  unit: string;
  decimals: number;
}
interface Situation {
  loops: LoopKnown[];
}
interface LoopKnown {
  volume_l: number;
}
interface Facts {
  biomass_kg: number;
  minutes_without_air: number | null;
}
type Bands = Dict<[string, string], Band>;
export interface Ground {
  bands: Bands;
}
type Taken = object;
type Loop = object;

export const M: {
  "apps.calc.quantities": { MEASURANDS: Dict<string, Quantity>; Quantity: Made<Quantity> };
  "apps.calc.judgement": { Band: Made<Band>; LoopContext: Made<object> };
  "apps.calc.reading": {
    Ground: Made<Ground>;
    Typed: Made<TypedReading>;
    look(typed: TypedReading[], ground: Ground): Seen[];
    unit_name(unit: string): string;
  };
  "apps.calc.advice.situation": Record<
    | "Crop"
    | "Event"
    | "Fish"
    | "Germination"
    | "Hold"
    | "Media"
    | "Past"
    | "Reading"
    | "Source",
    Made<object>
  > & { Loop: Made<LoopKnown>; Situation: Made<Situation> };
  "apps.calc.advice.facts": { Facts: Made<Facts> };
  "apps.calc.advice.assess": { assess(known: Situation, bands: Bands): Assessment };
  "apps.calc.advice.today": {
    Taken: Made<Taken>;
    with_readings(known: Situation, taken: Taken[], hours: number): Situation;
  };
  "apps.calc.advice.sentences": {
    CAUSE_WORDS: Dict<string, string>;
    FORMATS: Dict<string, [decimals: number, unit: string]>;
    readable_hours(hours: number): [count: number, unit: string];
    sentences(advice: Draft): Sentence[];
  };
  "apps.calc.advice.cautions": { CAUTIONS: Dict<string, string> };
  "apps.calc.advice.substances": { SUBSTANCE_WORDS: Dict<string, string> };
  "apps.core.drawing.scale": { Band: Made<object> };
  "apps.core.drawing.waterline": { water_line: Made<string> };
  "apps.core.drawing.words": { band_text(band: object, unit: string): string };
};
