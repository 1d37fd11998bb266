/**
 * What a figure is: a view declares what it can be asked, how its work is cut into parts, how one part is measured, and what is drawn of the points that
 * have come so far. Page and command line read everything from here: controls and options from the table of parameters, progress from the parts, the plot,
 * its caption and its table from the figure. All of it is plain data, so that parts and points travel between threads.
 */
import type { CircuitDocument, Grade } from '../../circuit/index.ts';
import type { OnTrial, PathPlan, PathSetting } from '../../path/index.ts';
import type { Parameter, StageValues } from '../../stages/index.ts';

/** One scale of a plot. */
export interface FigureAxis {
  /** "input level", "frequency" */
  readonly label: string;
  /** "dBu", "Hz", "V", "dB re fundamental", "degrees"; '' for a plain number. */
  readonly unit: string;
  readonly scale: 'linear' | 'logarithmic';
  /** Whether a figure on it is written with a prefix (2.5 kHz, 13 mV) or as it is (−62 dB). */
  readonly written: 'prefixed' | 'plain';
  /** Ends of the scale; points beyond them are cut off at the edge. */
  readonly from: number;
  readonly to: number;
}

/** One line of a plot. */
export interface FigureTrace {
  /** The same from one drawing to the next: "H2", "output", "phase". */
  readonly id: string;
  /** Written beside it. */
  readonly label: string;
  readonly axis: 'left' | 'right';
  /** How it is told from the others before colour; lines of a harmonic by its order. */
  readonly role: 'main' | 'second' | 'third' | 'ideal' | 'difference' | 'noise';
  /** Of a harmonic: weight, dash and word come from the table of orders. */
  readonly order?: number;
  /** Joined by straight lines; held: a stair; apart: single points (spectra: uprights from the foot). */
  readonly drawn: 'line' | 'stair' | 'points' | 'uprights';
  readonly x: ArrayLike<number>;
  /** As long as x; NaN is a gap. */
  readonly y: ArrayLike<number>;
}

/** A place on a plot with words: an upright where only `x` is given, a level where only `y`, a point where both; from `x` to `toX` a span, at the height `y` a bracket. */
export interface FigureMark {
  readonly x?: number;
  readonly toX?: number;
  readonly y?: number;
  readonly axis?: 'left' | 'right';
  /** "clips at +23.5 dBu" */
  readonly words: string;
}

/** One plot of a figure; plots stand one above the other, on the same ends where their x axes are equal. */
export interface FigurePanel {
  readonly title: string;
  readonly x: FigureAxis;
  readonly left: FigureAxis;
  readonly right?: FigureAxis;
  readonly traces: readonly FigureTrace[];
  readonly marks: readonly FigureMark[];
  /** Of the height that the panels share; absent: 1. */
  readonly share?: number;
  /** A span dragged over it asks for that part of the loop (x in seconds of the loop). */
  readonly selects?: 'region';
}

/** A number to be written with its column's unit and digits, words, or nothing. */
export type FigureCell = number | string | null;

export interface FigureColumn {
  readonly label: string;
  readonly unit: string;
  readonly written: 'prefixed' | 'plain';
  /** Decimals of a plain number; significant digits of a prefixed one. */
  readonly digits: number;
}

/** The table behind a figure; also its CSV. */
export interface FigureTable {
  readonly columns: readonly FigureColumn[];
  readonly rows: readonly {
    readonly cells: readonly FigureCell[];
    /** What this row's subject can be heard as: the page offers to put it on trial. */
    readonly trial?: OnTrial;
  }[];
}

/** What a view shows of its points. */
export interface Figure {
  /** At most one line: "Harmonics against level, whole path, 1 kHz". */
  readonly title: string;
  /** One sentence with the main figures, made from the data shown. */
  readonly caption: string;
  /** None for a figure that is a table alone. */
  readonly panels: readonly FigurePanel[];
  readonly tables: readonly FigureTable[];
  /** Conventions, sources, what cannot be told; a sentence each. */
  readonly remarks: readonly string[];
}

/** Samples of the loop a view may ask for: one array a channel, ±1 is full scale. */
export interface FigureProgramme {
  readonly title: string;
  readonly rateHz: number;
  readonly channels: readonly Float64Array[];
  /** Where in the loop they begin; absent: at its start. */
  readonly startSeconds?: number;
}

/** What is known of a subject without planning it: enough to cut the work into parts and to draw; small plain data. */
export interface FigureFacts {
  /** Null for a circuit document by itself. */
  readonly path: PathSetting | null;
  /** The circuit document that is measured by itself; absent for a path, and where the program alone is known. */
  readonly document?: CircuitDocument;
  readonly baseRateHz: number;
  readonly oversamplingFactor: number;
  /** Volts of a sample of 1: the peak of a sine at full-scale level. */
  readonly samplePeakVolts: number;
  /** The whole path, or one stage alone (with those it is joined to) at its own working level. */
  readonly scope: { readonly kind: 'path' } | { readonly kind: 'stage'; readonly key: string };
  /** The loop's region, for views with `needs: 'programme'`; else null. */
  readonly programme: { readonly title: string; readonly rateHz: number; readonly frames: number; readonly startSeconds?: number } | null;
}

/** What is measured. */
export interface FigureSubject extends FigureFacts {
  /** The stages in circuit at the view's grade, without the noise that plays (`planOfSetting`, `planOfDocument`). */
  readonly plan: PathPlan;
  readonly programme: (FigureProgramme & { readonly frames: number }) | null;
}

/**
 * A view. `Part` and `Points` are plain data that can be posted. Views are kept in `registry.ts` under `AnyFigureView`; `figureView` checks one against its
 * own types.
 */
export interface FigureView<Part, Points> {
  /** Kebab-case, as the command line says it: "harmonics-level". */
  readonly id: string;
  /** "Harmonics against level" */
  readonly title: string;
  /** One sentence: what it tells a designer. */
  readonly help: string;
  /** What can be asked of it, like a stage's table: editors, options and stored values come from it. */
  readonly parameters: readonly Parameter[];
  readonly needs?: 'programme';
  /** What its subject is planned for: figures of music are of the path as it is heard, 'listening'. Absent: 'measuring'. */
  readonly grade?: Grade;
  /**
   * Where something plays, its points come from what plays, one part, again and again (`ui/page/engine/spectrum-feed.ts`); drawn without any it says that
   * nothing plays. `measure` takes the loop through the path instead.
   */
  readonly live?: true;
  /** Why it cannot be had of such a subject at these values; null when it can, as far as can be told beforehand: `measure` may throw RangeError. */
  refuse(facts: FigureFacts, values: StageValues): string | null;
  /**
   * Parts that can be measured apart, for up to `workers` workers; all parts together give the same points to the bit whatever their number. Those that should
   * be seen first stand first.
   */
  split(facts: FigureFacts, values: StageValues, workers: number): readonly Part[];
  /** One part. Yields at least every 10 ms: what has come of it so far, or nothing new. */
  measure(subject: FigureSubject, values: StageValues, part: Part): Generator<Points | undefined, Points>;
  /** The figure of what has come, by part in the order of `split`; undefined: nothing of that part yet. A few milliseconds. */
  draw(facts: FigureFacts, values: StageValues, points: readonly (Points | undefined)[]): Figure;
}

// eslint-disable-next-line @typescript-eslint/no-explicit-any -- views of different parts in one list; each is checked where it is defined
export type AnyFigureView = FigureView<any, any>;

/** The view itself, checked against its own types. */
export function figureView<Part, Points>(view: FigureView<Part, Points>): AnyFigureView {
  return view;
}
