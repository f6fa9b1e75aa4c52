// What the scripts hand to each other, for the type checker; nothing of it is in a page.

/** Complex numbers as pairs: real, imaginary, real, imaginary, … */
type Pairs = Float64Array;

/** For each feed the complex weights of the coils at a frequency in hertz, as pairs: [[ar, ai, br, bi, …], …]. */
type Weights = (frequency: number) => number[][];

/** Writes the scaled admittance of each place's part at a frequency in hertz into an array of pairs. */
type Admittances = (frequency: number, parts: Pairs) => void;

/** Impulse responses, one a feed, of which the first `before` taps lie before time zero. */
interface Kernels {
  feeds: (Float64Array | Float32Array)[];
  before: number;
}

/**
 * The power of a sound at the bins of a transform, `step` hertz wide: of each feed, and what each two of them have in
 * common; and the weights by which it is as loud as it is heard.
 */
interface Power {
  own: Float64Array[];
  cross: { one: number; other: number; pairs: Pairs }[];
  loud: Float64Array;
  step: number;
}

/** Kernels as they run, and the gain by which they are heard; each may be fed or left in silence. */
interface Path {
  fader: Fader;
  filters: { filter: ConvolverNode; feed: number; isFed: boolean }[];
}

/** What a voice makes of a sound: energies, and the middle of the spectrum in hertz. */
interface Levels {
  plain: number;
  loud: number;
  centroid: number;
}

/** What a take was recorded through, and how far its ratio to another may rise. */
interface Through {
  heard: Heard;
  cap: number;
  order: number;
}

/** Where the knobs stand: pots from 0 to 10, the cable's capacitance in farads. */
interface Turned {
  volume?: number;
  tone?: number;
  cable: number;
}

/** A sound: what is played is `length` frames from `lead` on. */
interface Sound {
  planes: Float32Array<ArrayBuffer>[];
  rate: number;
  lead: number;
  length: number;
  /** The coils that have a channel each, none where the sound does not tell them apart. */
  coils: number;
  /** The files' gains and what peaked before them, null where no file was made of this sound. */
  gains: { true: number[]; matched: number[]; peaks: number[] } | null;
  /** The taps before time zero that all kernels have. */
  before: number;
}

/** A sound as the engine has it: its power once it is weighed, and each voice's levels where the file has the knobs. */
interface Weighed {
  planes: Float32Array[];
  rate: number;
  coils: number;
  power: Power | null;
  home: Levels[];
  weighing: Promise<void>;
}

/** What the engine makes of a voice; levels are null until the sound is weighed. */
interface Made {
  kernels: { feeds: Float32Array<ArrayBuffer>[]; before: number };
  reach: number;
  levels: Levels | null;
  home: Levels | null;
}

/** Complex numbers, as many as a transform has. */
interface Complexes {
  re: Float64Array;
  im: Float64Array;
}

/** A sound whose voices are worked out: a channel a coil, or one or two that tell no coils apart. */
interface Sounding {
  planes: Float32Array[];
  coils: number;
}

/**
 * What a voice is at the jack: its loudest moment, as the amplitude of a sine, and the plain and the K-weighted mean square of each
 * tenth of a second.
 */
interface Jack {
  loudest: number;
  plain: Float64Array;
  loud: Float64Array;
}

/** A piece of a voice behind the amplifier, and the mean squares of each tenth of a second of it. */
interface Piece {
  planes: Float32Array[];
  plain: Float64Array;
  loud: Float64Array;
}

/** What an engine is asked. */
type Questions = Pick<Engine, "take" | "drop" | "weighed" | "voice" | "curves" | "jack" | "piece" | "centroid">;

/** What supplies a mixer: an engine, or what stands for one elsewhere and answers later. */
type Supplier = {
  [What in keyof Questions]: (given: Parameters<Questions[What]>[0]) => ReturnType<Questions[What]> | Promise<Awaited<ReturnType<Questions[What]>>>;
};

/** A voice on sources of one number of coils: its kernels with its responses at the bins of the shortest, and its curve. */
interface Voice {
  made: (rate: number, turned: Turned) => MadeVoice | Promise<MadeVoice>;
  curve: (turned: Turned) => ArrayLike<number> | Promise<ArrayLike<number>>;
}

interface MadeVoice {
  kernels: Kernels;
  spectra: Pairs[];
}

interface Call {
  what: keyof Questions;
  given: unknown;
  resolve: (answer: any) => void;
  reject: (error: Error) => void;
}

/** What a voice does to the sound against the baseline, in words and in loudness units. */
interface Told {
  words: string;
  loudness: number | null;
  isApproximate: boolean;
}

/** The same at the jack, and where voices are heard behind the amplifier at the loudspeaker: null while that is not known. */
interface Answer extends Told {
  behind?: Told | null;
}

/**
 * What the mixer tells: a curve is there; what is known of the voices has changed; a voice cannot be had with the knobs
 * where they are; something else went wrong.
 */
interface MixerHooks {
  drawn: (index: number, magnitudes: Float64Array) => void;
  changed: () => void;
  refused: (index: number, why: string) => void;
  failed: (error: unknown) => void;
}

interface KnobOptions {
  label: string;
  min: number;
  max: number;
  value: number;
  /** What an arrow key turns by, and what a page key does. */
  step: number;
  page: number;
  marks: string[];
  shown: (value: number) => string;
  spoken: (value: number) => string;
}

/** The knobs that a guitar has. */
interface Knobs {
  volume?: Knob;
  tone?: Knob;
  cable: Knob;
}

// What the program writes into a survey's page (src/page/survey.rs).

interface SurveyData {
  kept: string[];
  circuits: SurveyCircuit[];
}

interface SurveyCircuit {
  name: string;
  title: string;
  combinations: string[];
  resonance: number | null;
  q: number | null;
  level: number | null;
  hum: number | null;
  phase: boolean;
  group: string | null;
  nearest: string | null;
  off: number | null;
}

interface SurveyColumn {
  title: string;
  key: (circuit: SurveyCircuit) => string | number | null;
  show: (circuit: SurveyCircuit) => string;
}

// What the program writes into a set's page (src/page/payload.rs).

interface SetData {
  sound: SoundData;
  baseline: number;
  match_by: "loudness" | "rms";
  ceiling: number;
  most_gain: number;
  words: { loudness: [from: number, words: string][]; brightness: [from: number, words: string][] };
  knobs: KnobsData;
  has_hum: boolean;
  turnable: boolean;
  voices: VoiceData[];
  recorded: RecordedData | null;
  blind: RunData[];
  /** The amplifier; null where the baseline is silent, by which it would be driven. */
  amplifier: AmplifierData | null;
}

interface AmplifierData {
  settings: { name: string; answer: string; headroom_db: number }[];
  /** The place of the setting that the files are heard through, null where they are at the jack. */
  files: number | null;
  /** What those files are matched by. */
  match_by: "loudness" | "rms";
  /** The baseline's loudest moment at the jack, and where the stages clip, as amplitudes. */
  loudest: number;
  clip_point: number;
  stages: StagesData;
  /** The loudspeaker's taps, 64-bit floats in base64, of which the first `before` lie before time zero. */
  loudspeaker: { before: number; taps: string };
}

interface StagesData {
  curves: CurveData[];
  /** What a coupling makes of a change of what comes to it, and what it keeps of what it gave. */
  coupling: [share: number, decay: number];
  /** The first half of every second tap of each half-band, the lowest rate first. */
  half_bands: number[][];
}

interface CurveData {
  from: number;
  density: number;
  /** The value at each knot and the slope over a piece there, 64-bit floats in base64. */
  knots: string;
}

/** A voice's files behind the amplifier. */
interface BehindData {
  matched_db: number | null;
  true_db: number | null;
  answer: string | null;
  loudness_lu: number | null;
}

interface SoundData {
  file: string;
  rate_hz: number;
  channels: number;
  frames: number;
  lead: number;
  played: number;
  unit: number;
  coils: number;
}

interface KnobsData {
  volume: PotData | null;
  tone: PotData | null;
  cable: number;
}

interface PotData {
  track: number;
  /** The fraction at mid-travel of an audio taper, null for a linear one. */
  mid: number | null;
  turned: number;
}

interface VoiceData {
  name: string;
  title: string;
  what: string | null;
  look: { hue: string; dash: number[] };
  drawing: string | null;
  circuit: CircuitData | null;
  section: SectionData | null;
  outputs: number[];
  telling: number[];
  rule: RuleData;
  matched_db: number | null;
  true_db: number | null;
  peak_dbtp: number | null;
  answer: string | null;
  loudness_lu: number | null;
  heard: number | null;
  centroid_hz: number | null;
  approximate: boolean;
  /** Null where the files are at the jack. */
  behind: BehindData | null;
}

/** Equations as `circuit::KnobCircuit` has them; a row that is null is ground. */
interface CircuitData {
  size: number;
  impedance: number;
  omega: number;
  conductive: [row: number, column: number, value: number][];
  reactive: [row: number, column: number, value: number][];
  drives: [row: number, share: number][][];
  output: number | null;
  places: { part: "volume-above" | "volume-below" | "tone" | "cable"; a: number | null; b: number | null }[];
}

interface SectionData {
  b: [number, number, number];
  a: [number, number];
  shares: [number, number];
  rate_hz: number;
}

type RuleData =
  | { kind: "whole" }
  | { kind: "halves" }
  | { kind: "split"; coils: [place: number, lead: number][]; pickups: number[][]; speeds: number[] };

interface RecordedData {
  circuit: CircuitData;
  outputs: number[];
  rule: RuleData;
  bound: { cap: number; order: number };
}

interface RunData {
  trials: number;
  needed: number;
  p: number[];
}
