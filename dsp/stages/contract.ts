/**
 * The stage contract: what a stage declares, and what everything else (page, setting file, command line, tests) reads from it.
 * Adding a stage is one folder with its definition, one line in `registry.ts`, and its tests.
 */
import type { CarriedBias, CircuitDocument, CircuitProgram, CircuitRemoval, Component, Grade, IntegrationRule } from '../circuit/index.ts';
import type { Arena, CodeMemory } from '../webassembly/index.ts';
import type { Drawing } from './drawing.ts';

/** What kind of quantity a value is; decides units, prefixes, steps and travel of its editor. */
export type Quantity =
  | 'resistance' | 'capacitance' | 'inductance'
  | 'current' | 'frequency' | 'time'
  | 'level' | 'gain' | 'harmonic-amount'
  | 'voltage' | 'ratio' | 'quality' | 'temperature'
  | 'length' | 'resistance-per-length' | 'capacitance-per-length';

interface ParameterText {
  /** Field name in the setting file, with its unit: `collectorOhms`, `quiescentAmperes`, `driveDb`. */
  readonly id: string;
  /** Reference designator for a value that belongs to a component of the circuit: "RC". */
  readonly designator?: string;
  /** "collector load" */
  readonly label: string;
  /** At most 12 characters. */
  readonly shortLabel: string;
  /** As a screen reader should say it: "R C, collector load". */
  readonly spokenLabel: string;
  /** One sentence: what it does to the sound or the numbers. */
  readonly help: string;
}

/** A number in base units (ohm, farad, ampere, hertz, second, volt; decibels for gain and level; a plain ratio otherwise). */
export interface NumberParameter extends ParameterText {
  readonly kind: 'number';
  readonly quantity: Quantity;
  /** Unit symbol of the base unit as printed: "Ω", "F", "A", "Hz", "s", "dB", "dBu", "V", "°C", "". */
  readonly unit: string;
  readonly minimum: number;
  readonly maximum: number;
  readonly default: number;
  /** How the range is spread over a drag. */
  readonly taper: 'logarithmic' | 'linear' | 'decibel';
  /** Arrow-key step for quantities without a series of preferred values. */
  readonly step: number;
}

/** One of a few named ways. */
export interface ChoiceParameter extends ParameterText {
  readonly kind: 'choice';
  readonly options: readonly { readonly id: string; readonly label: string }[];
  readonly default: string;
}

export type Parameter = NumberParameter | ChoiceParameter;

/** Values of one stage by parameter id; complete (every parameter present) once resolved. */
export type StageValues = Readonly<Record<string, number | string>>;

/**
 * What a stage presents to the next one: a passive two-terminal network of linear components between the nodes `from` and `to`
 * (ground must not occur), driven by the stage's open-circuit voltage. Empty: an ideal source. Names are unprefixed; the next
 * stage's circuit prefixes them (`previous RC`).
 */
export interface OutputNetwork {
  readonly from: string;
  readonly to: string;
  readonly components: readonly Component[];
}

/** What a stage's program is built for. */
export interface StageContext {
  /** Internal rate, base rate × factor. */
  readonly rateHz: number;
  /** Output network of the circuit stage before it; null: an ideal source (first stage, or a buffered one before it). */
  readonly source: OutputNetwork | null;
  /** Integration rule of a circuit, or the grade that chooses it. Absent: T1. */
  readonly rule?: IntegrationRule | Grade;
}

/** Coefficients of the harmonic shaping law; every field plain data. See `dsp/stages/harmonic-shaping/`. */
export interface PolynomialProgram {
  readonly kind: 'polynomial';
  /** Law and filters of the branch, in the order the stage's runner reads them. */
  readonly parameters: Float64Array;
  /** Names of the entries of `parameters`, so that a reader need not count. */
  readonly parameterNames: readonly string[];
}

/** A circuit stage: input volts × inputGain → circuit → (output − rest) × outputGain. */
export interface CircuitStageProgram {
  readonly kind: 'circuit';
  readonly circuit: CircuitProgram;
  /** The stage's drive as a ratio (an ideal level control before its source). */
  readonly inputGain: number;
  /** The stage's make-up as a ratio; carries no sign. */
  readonly outputGain: number;
}

/** Second-order sections in series, each a trapezoidal state-variable filter. See `dsp/stages/equaliser/`. */
export interface LinearProgram {
  readonly kind: 'linear';
  /** Internal rate it was made for. */
  readonly rateHz: number;
  /** Ideal gain behind the sections, a ratio. */
  readonly gain: number;
  /** Numbers of the sections in the order they run, `sectionSize` each (`dsp/stages/equaliser/section.ts`). */
  readonly coefficients: Float64Array;
  /** Where each section's memory stands, so that it is found again whatever else was switched on or off. */
  readonly places: Int32Array;
  /** How many places there are, taken or not. */
  readonly placeCount: number;
}

/** Where a circuit's solver stops: fine enough to hear, or to measure. */
export type SolverTolerance = Grade;

/** What runs: a union, so that later stages join without a flag. */
export type StageProgram = CircuitStageProgram | PolynomialProgram | LinearProgram;

/** A computed figure shown in the margin. */
export interface StageReading {
  /** "collector current" */
  readonly label: string;
  readonly value: number;
  readonly quantity: Quantity;
  readonly unit: string;
  /** Optional words after the figure: "13 mV against kT/q 26 mV". */
  readonly note?: string;
}

/** A computed fact that is words rather than a figure: "class", "AB: A at +4 dBu, B above". */
export interface StageRemark {
  readonly label: string;
  readonly words: string;
}

/** Everything computed about a stage at rest, for the drawing and the margin. */
export interface StageReport {
  readonly readings: readonly StageReading[];
  readonly remarks: readonly StageRemark[];
  /** DC volts by node name of the drawing. */
  readonly nodeVolts: Readonly<Record<string, number>>;
  /** What `StageDefinition.clipOutputDbu` found; absent where it was not asked for. */
  readonly clipOutputDbu?: number | null;
}

/** One line of a curve. */
export interface CurveTrace {
  /** Written beside it: "sum", "1 bell". */
  readonly label: string;
  /** What it stands for decides how it is drawn: the whole bold, parts thin, the ideal dashed, a difference dotted. */
  readonly role: 'whole' | 'part' | 'ideal' | 'difference';
  /** Which section's it is, where there are several. */
  readonly section?: number;
  /** One for each of the curve's frequencies. */
  readonly db: readonly number[];
}

/** A read-out that stands on the curve: over a span of frequencies, or at one (`fromHz` = `toHz`). */
export interface CurveMark {
  readonly kind: 'steepest' | 'steep-span' | 'undershoot' | 'bandwidth' | 'turnover';
  /** Which section's it is, where there are several. */
  readonly section?: number;
  readonly fromHz: number;
  readonly toHz: number;
  /** Height it stands at. */
  readonly db: number;
  /** "4.6 dB/octave at 1.2 kHz" */
  readonly words: string;
}

/** Level over frequency, as plain data for a picture and its table. */
export interface StageCurve {
  /** Ascending. */
  readonly hertz: readonly number[];
  /** The whole first. */
  readonly traces: readonly CurveTrace[];
  readonly marks: readonly CurveMark[];
  /** One sentence with the main figures. */
  readonly caption: string;
}

/** A small-signal transfer at one frequency. */
export interface Transfer {
  readonly re: number;
  readonly im: number;
}

/** Where a loop of feedback is looked at: in series with the end of a two-terminal component that is wired to a node (`withLoopProbe`). All of the loop must pass through it. */
export interface LoopProbe {
  readonly component: string;
  readonly node: string;
}

/** A caution by name; the wording lives in `cautions.ts`, once. */
export type CautionName = 'lethal-voltage' | 'line-output';

/** How a mechanism is taken away, as plain data. */
export type Removal =
  /** Of the stage's circuit, at its operating point: names of components as the stage's own document has them. */
  | { readonly kind: 'circuit'; readonly of: readonly CircuitRemoval[] }
  /** Values of the stage's table that leave it out. */
  | { readonly kind: 'values'; readonly values: StageValues }
  /** The stage is driven by an ideal source in place of the output network of what stands before it. */
  | { readonly kind: 'ideal-source' };

/** One thing in a stage that makes harmonics and can be taken away alone, all else as it is. */
export interface Mechanism {
  /** Kebab-case, the same at all values: "crossover". */
  readonly id: string;
  /** As it stands in a table or a sentence: "crossover of the output pair". */
  readonly label: string;
  /** What exactly is taken away. */
  readonly sentence: string;
  readonly removal: Removal;
}

/** What a stage declares. All functions are pure and run off the audio thread. */
export interface StageDefinition {
  /** Kebab-case, in setting files: "single-ended-bipolar". */
  readonly id: string;
  /** "Single-ended stage, bipolar" */
  readonly title: string;
  /** Under the path strip's cell, at most 12 characters: "single-ended". */
  readonly shortTitle: string;
  /** Whether the output is inverted with respect to the input. */
  readonly inverts: boolean;
  /** The same for these values, where a choice decides it; absent: `inverts` whatever the values. */
  invertsFor?(values: StageValues): boolean;
  readonly cautions: readonly CautionName[];
  readonly parameters: readonly Parameter[];
  /** At default values. Null for a stage that is not a circuit. */
  readonly drawing: Drawing | null;
  /** The sheet for these values, where a choice changes what is wired; absent: `drawing` whatever the values. */
  drawingFor?(values: StageValues): Drawing;
  /** Nodes and components of the stage for these values; null for a stage that is not a circuit. */
  circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument | null;
  /**
   * Null: the next stage sees an ideal source. `source` is what stands before this stage: one that lets it through (a transformer, a line) has it in its own
   * network, impedances seen through the turns; others need not look.
   */
  outputNetwork(values: StageValues, source?: OutputNetwork | null): OutputNetwork | null;
  /** Why these values cannot be used although each is inside its range; null when they can. */
  refuse(values: StageValues): string | null;
  /** Throws CircuitError where the circuit is unsound. */
  program(values: StageValues, context: StageContext): StageProgram;
  /** Readings and node voltages; a few milliseconds. */
  report(values: StageValues, program: StageProgram): StageReport;
  /**
   * Output level above which 1 kHz THD stays at 1 % or more, dBu, within 0.1 dB, from steady states; null when there is none. Takes longer than
   * the report (some tens of milliseconds), so it is asked for apart.
   */
  clipOutputDbu(values: StageValues, program: StageProgram): number | null;
  /** What makes harmonics in it at these values, each to be taken away alone; none: nothing does, the stage is linear. */
  mechanisms(values: StageValues): readonly Mechanism[];
  /** Identifiers of the parameters that do anything at these values, in the table's order; absent: all do. The page shows these. */
  relevant?(values: StageValues): readonly string[];
  /** The stage's response as a picture, at this internal rate; a few milliseconds. */
  curve?(values: StageValues, rateHz: number): StageCurve;
  /** Of a circuit with a loop of feedback round an amplifier: where it is looked at; null: none at these values. Absent: none at all. */
  loopProbe?(values: StageValues): LoopProbe | null;
  /** Of a stage that is linear and no circuit: what its analogue prototype does, output volts per input volt. */
  transfer?(values: StageValues, frequenciesHz: readonly number[]): readonly Transfer[];
}

/** What is shown, written and read like a stage's values but is none: what stands round a path, what supplies it. */
export type SheetDefinition = Pick<StageDefinition, 'id' | 'title' | 'shortTitle' | 'parameters' | 'drawing' | 'cautions'>;

/** Counters of a running stage; preallocated, read from the audio thread, possibly a block stale. */
export interface StageCounters {
  samples: number;
  evaluations: number;
  rescues: number;
  capHits: number;
  /** Non-finite inputs or states met since reset; the stage mutes and recovers. */
  nonFinite: number;
  /** Largest |output| in volts since last cleared. */
  peakOutputVolts: number;
}

/** Where a compiled stage lives: the code of a path's memory, and a part of that memory for its numbers. */
export interface StageHome {
  readonly memory: CodeMemory;
  readonly arena: Arena;
}

/** A stage that runs. Every method here may be called from the audio callback: none allocates, throws or waits. */
export interface StageRunner {
  readonly program: StageProgram;
  readonly counters: StageCounters;
  reset(): void;
  /** Volts at the internal rate, in place, any block length; as many channels as the runner was made with. */
  process(channels: readonly Float64Array[], offset: number, frames: number): void;
  /**
   * Takes over the memory (capacitor voltages, inductor currents, filters) of the runner that ran before. `bias` 'settled' (a value was turned):
   * the signal's part only, round the new operating point; 'carried' (a switch, another order): the voltages as they are, true thump and all.
   */
  adopt(previous: StageRunner, bias: CarriedBias): void;
  /** Of a circuit: what its capacitors, inductors and cores store now, in the order of the program's `stateNames`, from `offset` on; gives their number. First channel. */
  storedQuantities?(into: Float64Array, offset: number): number;
}
