/**
 * The state of the bench and every action that changes it. Types only; `bench.ts` holds the pure reducer, `engine.ts` turns
 * changes into messages. Three parts: *setting* (undoable, autosaved, frozen), *session* (autosaved), *live* (never stored).
 */
import type { Excerpt, PlayingLog, Setting, StoredJoint, StoredRule, Verdict } from '../../dsp/setting/index.ts';
import type { LoopSpectrum, MatchDifferences, PathHeadroom } from '../../dsp/measure/index.ts';
import type { Figure } from '../../dsp/measure/figures/index.ts';
import type { OnTrial, OversamplingFactor, RegionFrames } from '../../dsp/path/index.ts';
import type { SampleEncoding } from '../../dsp/recording/index.ts';
import type { StageReport, StageValues } from '../../dsp/stages/index.ts';
import type { SuppliedReadings, SupplyFigures } from '../../worklets/messages.ts';
import type { FigureFeed } from './figure-feed.ts';
import type { BlindAction, BlindState } from './blind-state.ts';
import type { DemonstrationAction, DemonstrationState } from './demonstration-state.ts';
import type { DifferenceAction, DifferenceState } from './difference-state.ts';
import type { Drafts, DraftsAction, Pair } from './drafts-state.ts';
import type { LiveInputAction, LiveInputState } from './live-input-state.ts';
import type { HearingAction, HearingState } from './hearing-state.ts';
import type { MaterialAction, MaterialState, RememberedUse } from './material-state.ts';
import type { ReportAction, ReportState } from './report-state.ts';
import type { LogEntry, SessionLogAction } from './session-log-state.ts';
import type { SheetKey } from './sheets.ts';
import type { LongState, SittingAction } from './sitting-state.ts';
import type { OpenTicket, TicketAction } from './ticket-state.ts';

export interface SessionState {
  /** Key of the open stage, or of a sheet (`surroundings`, `supply`). */
  readonly openStageKey: string;
  readonly onTrial: OnTrial;
  /** Two whole paths on trial in place of what `onTrial` says, which is then the whole path; null: none. */
  readonly pair: Pair | null;
  readonly drafts: Drafts;
  readonly loop: string;
  /** Null: the whole loop. */
  readonly region: { readonly startSeconds: number; readonly endSeconds: number } | null;
  readonly probe: { readonly frequencyHz: number; readonly levelDbu: number };
  readonly scope: 'path' | 'stage';
  readonly ledgerShowsPhase: boolean;
  readonly harmonicsHeld: boolean;
  /** Pinned bar marks in dB by order, or null. */
  readonly keptMarks: Readonly<Record<number, number>> | null;
  readonly series: 'E12' | 'E24' | 'E96';
  readonly look: 'system' | 'light' | 'dark';
  readonly partsListChosen: boolean;
  readonly marginOpen: boolean;
  readonly keys: KeySettings;
  readonly figures: FigureSession;
  /** Kept of every view, the oldest first. */
  readonly kept: readonly KeptFigure[];
  /** Steps of the first look already done; null once folded away. */
  readonly firstLook: { readonly played: boolean; readonly switched: boolean; readonly dialled: boolean; readonly frozen: boolean } | null;
}

/** Which figure is looked at, and what was asked of it. */
export interface FigureSession {
  /** View whose plate is open; null: none. */
  readonly open: string | null;
  /** The one that was open last. */
  readonly last: string | null;
  /** The whole path, or the open stage alone at its own working level. */
  readonly scope: 'path' | 'stage';
  /** By view: its values, as far as they were ever changed. */
  readonly values: Readonly<Record<string, StageValues>>;
}

/** A figure laid aside with the setting it was measured of. */
export interface KeptFigure {
  readonly id: string;
  readonly view: string;
  /** Given by hand; null: made of what differs from now. */
  readonly name: string | null;
  readonly setting: Setting;
  readonly values: StageValues;
  /** "whole path", "2 push-pull alone" */
  readonly scope: string;
  /** Local ISO date and time. */
  readonly keptAt: string;
  readonly figure: Figure;
}

export interface KeySettings {
  readonly singleLetters: boolean;
  /** Key by command; changed under "Keys". */
  readonly letters: Readonly<Record<KeyCommand, string>>;
  /** Speak each switch through the live region. */
  readonly speakSwitches: boolean;
}

/** Between the path and the stage, one at a time (`shelves.ts`). */
export type ShelfName = 'paths' | 'drafts' | 'listening' | 'hand-on' | 'keys';

/** In place of all the rest (`whole-pages.ts`). */
export type WholePageName = 'report' | 'sitting' | 'session-log';

/** What is on the bench to be heard. */
export interface ProgrammeFacts {
  readonly title: string;
  /** Of the file; everything plays at it. */
  readonly rateHz: number;
  readonly channels: 1 | 2;
  /** Of the whole file. */
  readonly frames: number;
  /** What of it lies on the bench: all, or a stretch of a long one. */
  readonly onBench: RegionFrames;
  readonly encoding: SampleEncoding;
  readonly origin: 'demo' | 'own';
  /** Decoded by the bench itself, or by the browser from what only it reads. */
  readonly readBy: 'bench' | 'browser';
  /** Of the bytes of its file, 64 hexadecimal digits. */
  readonly sha256: string;
  /** Gain it was given before the path, at most 0. */
  readonly trimDb: number;
}

export type KeyCommand = 'toggle' | 'in' | 'out' | 'listen' | 'tell-state' | 'tell-harmonics' | 'go-to-value' | 'figures' | 'difference';

/** One order as measured: all relative to the fundamental. */
export interface HarmonicFigure {
  readonly order: number;
  /** −Infinity when under the numerical floor. */
  readonly db: number;
  readonly signedRatio: number;
  readonly phaseDegrees: number;
  /** Weaker than the noise round it, where the noise is on. */
  readonly underNoise?: true;
}

export interface HarmonicReadings {
  /** Revision of the setting they belong to. */
  readonly revision: number;
  readonly scope: 'path' | 'stage';
  readonly frequencyHz: number;
  readonly levelDbu: number;
  readonly fundamentalDbu: number;
  readonly thdPercentF: number;
  /** Order-weighted n²/4, percent. */
  readonly weightedPercent: number;
  readonly figures: readonly HarmonicFigure[];
  /** Set instead of figures when the circuit oscillates or cannot be measured. */
  readonly refusal: string | null;
}

/** What is played in place of the loop, once it was consented to. */
export type ToneRequest =
  | { readonly kind: 'sine'; readonly frequencyHz: number; readonly levelDbu: number }
  /** Reference for a sound-level meter. */
  | { readonly kind: 'noise' };

export type MatchState =
  | { readonly kind: 'off' }
  | { readonly kind: 'stale' }
  | { readonly kind: 'measuring' }
  | { readonly kind: 'cannot-match'; readonly why: string }
  | {
      readonly kind: 'matched'; readonly inGainDb: number; readonly outGainDb: number; readonly residualDb: number; readonly waitsForSwitch: boolean;
      /** What differs all the same; absent where only the gains are known. */
      readonly differences?: MatchDifferences;
    };

export interface LiveState {
  /** Raised with every change of the setting's path (title, notes and the stored match make no difference to it); answers carry it. */
  readonly revision: number;
  /** At which what is on trial last changed: of two drafts nothing that is dialled on the bench. Matches of older ones are dropped. */
  readonly trialRevision: number;
  /** Newest revision the audio thread plays. */
  readonly soundingRevision: number;
  readonly playing: boolean;
  /** What is on trial: heard in circuit or out. */
  readonly trialIn: boolean;
  readonly monitorDb: number;
  readonly match: MatchState;
  readonly harmonics: HarmonicReadings | null;
  /** Newest figures that came while the ledger was held; shown when it is let go. */
  readonly harmonicsBehindHold: HarmonicReadings | null;
  /** Marks where the bars stood when the present gesture began. */
  readonly gestureMarks: Readonly<Record<number, number>> | null;
  readonly reports: Readonly<Record<string, StageReport>>;
  /** Level at the output of each stage for the nominal +4 dBu source, dBu, by stage key. */
  readonly jointLevelsDbu: Readonly<Record<string, number>>;
  /** Level at each joint and what is left above it, of the revision it was computed for; null: not yet, or the path oscillates. */
  readonly headroom: PathHeadroom | null;
  /** Noise and what the rails carry; null: not yet, or an ideal supply. */
  readonly supplied: SupplyFigures | null;
  /** What is on trial beside what its interface does; null: not yet, or nothing stands round it. */
  readonly interfaced: SuppliedReadings | null;
  /** Refused values: the sentence under the value, by `${stageKey}.${parameter}`. */
  readonly refusals: Readonly<Record<string, string>>;
  /** A circuit that could not be built: sentence and node or component it names; the last good one plays on. */
  readonly fault: { readonly stageKey: string; readonly sentence: string; readonly at: string | null } | null;
  readonly engine: { readonly kind: 'silent' } | { readonly kind: 'starting' } | { readonly kind: 'running' } | { readonly kind: 'rebuilt'; readonly sentence: string } | { readonly kind: 'failed'; readonly sentence: string };
  readonly solver: { readonly meanEvaluations: number; readonly rescues: number; readonly capHits: number };
  /** Why the solver runs as plain loops in this browser; null: it runs compiled. */
  readonly loopsBecause: string | null;
  /** Sentence for the state line; `urgent` ones go to role="alert". */
  readonly message: { readonly text: string; readonly urgent: boolean; readonly serial: number } | null;
  readonly canUndo: boolean;
  readonly canRedo: boolean;
  /** Setting text as last frozen or thawed; "changed since frozen" compares with it. */
  readonly changedSinceFrozen: boolean;
  /** False in a second tab: autosave belongs to the first. */
  readonly ownsAutosave: boolean;
  readonly toneAsked: ToneRequest | null;
  /** That plays, or played last. */
  readonly tone: ToneRequest | null;
  readonly tonePlaying: boolean;
  /** The bell that is held up and swept at the moment. */
  readonly search: { readonly stageKey: string; readonly section: number } | null;
  /** A blind comparison takes the whole page; null: there is none. */
  readonly blind: BlindState | null;
  /** Parts of the loop to choose among while comparing blind; empty: the region alone. */
  readonly excerpts: readonly Excerpt[];
  /** Whole programmes under one concealed side a sitting, over days. */
  readonly long: LongState;
  /** Only what the thing on trial adds, in place of the path. */
  readonly difference: DifferenceState;
  readonly hearing: HearingState;
  readonly input: LiveInputState;
  readonly material: MaterialState;
  /** Of the loop's chosen region; null: not wanted, or not computed yet. */
  readonly spectrum: LoopSpectrum | null;
  /** Share done of the render under way, 0–1; null when there is none. */
  readonly rendering: number | null;
  /** What was done, the oldest first. */
  readonly sessionLog: readonly LogEntry[];
  /** The ticket whose words stand above the drawing. */
  readonly ticket: OpenTicket | null;
  readonly demonstration: DemonstrationState;
  readonly report: ReportState;
  readonly shelf: ShelfName | null;
  readonly wholePage: WholePageName | null;
  /** Null: nothing is loaded yet. */
  readonly programme: ProgrammeFacts | null;
  /** Rate of the programme, at which everything plays. */
  readonly baseRateHz: number;
  /** The field that takes a designator or a name ("G"). */
  readonly goToOpen: boolean;
}

export interface BenchState {
  readonly setting: Setting;
  readonly session: SessionState;
  readonly live: LiveState;
}

export type GesturePhase = 'begin' | 'move' | 'end' | 'cancel' | 'step';

/** Everything an element may ask for; sent as `bench-action` events (bubbling, composed, `detail` is the action). */
export type Action =
  | BlindAction
  | SittingAction
  | DemonstrationAction
  | ReportAction
  | SessionLogAction
  | TicketAction
  | DifferenceAction
  | DraftsAction
  | HearingAction
  | LiveInputAction
  | MaterialAction
  // setting
  | { readonly kind: 'set-value'; readonly stageKey: string; readonly parameter: string; readonly value: number | string; readonly phase: GesturePhase }
  | { readonly kind: 'refuse-value'; readonly stageKey: string; readonly parameter: string; readonly sentence: string }
  | { readonly kind: 'leave-value'; readonly stageKey: string; readonly parameter: string }
  | { readonly kind: 'stage-in-out'; readonly stageKey: string; readonly inCircuit: boolean }
  | { readonly kind: 'reverse-polarity'; readonly stageKey: string }
  /** A sheet switched on with the values of its table, or off. */
  | { readonly kind: 'sheet'; readonly sheet: SheetKey; readonly on: boolean }
  /** Solved in one circuit with the stage before it, on request. */
  | { readonly kind: 'join-stage'; readonly stageKey: string; readonly joined: boolean }
  | { readonly kind: 'move-stage'; readonly stageKey: string; readonly toIndex: number }
  | { readonly kind: 'insert-stage'; readonly stage: string; readonly atIndex: number }
  | { readonly kind: 'remove-stage'; readonly stageKey: string }
  | { readonly kind: 'calibration'; readonly fullScaleDbu: 18 | 22 | 24 }
  | { readonly kind: 'rate-factor'; readonly factor: OversamplingFactor }
  | { readonly kind: 'ladder'; readonly ladder: 'linear-phase' | 'minimum-latency' }
  | { readonly kind: 'rename'; readonly title: string }
  /** Pinned to region, setting and measurement as they are. */
  | { readonly kind: 'note'; readonly text: string; readonly verdict?: Verdict | null }
  /** A bell held up to search with; then turned down to what is needed, or everything as it was. One entry of the history. */
  | { readonly kind: 'search'; readonly stageKey: string; readonly section: number }
  | { readonly kind: 'turn-down'; readonly amountDb: number } | { readonly kind: 'leave-search' }
  | { readonly kind: 'undo' } | { readonly kind: 'redo' }
  | { readonly kind: 'freeze' }
  /** The loop through the setting into a file, as the command line would write it; `stop-render` leaves nothing. */
  | { readonly kind: 'render' } | { readonly kind: 'stop-render' }
  /** The log of what was changed while playing, as a file. */
  | { readonly kind: 'save-log' }
  /** A path of the bench's own takes the place of the one on it. */
  | { readonly kind: 'ready-path'; readonly id: string }
  /** The path that a kept figure was measured of. */
  | { readonly kind: 'restore-kept'; readonly id: string }
  | { readonly kind: 'thaw'; readonly text: string; readonly fileName: string }
  // session
  | { readonly kind: 'open-stage'; readonly stageKey: string }
  | { readonly kind: 'on-trial'; readonly onTrial: OnTrial }
  /** `remembered`: how it is to be used, where that is not as it was left. */
  | { readonly kind: 'loop'; readonly loop: string; readonly remembered?: RememberedUse }
  | { readonly kind: 'region'; readonly region: SessionState['region'] }
  | { readonly kind: 'probe'; readonly frequencyHz: number; readonly levelDbu: number }
  | { readonly kind: 'scope'; readonly scope: 'path' | 'stage' }
  | { readonly kind: 'show-phase'; readonly shown: boolean }
  | { readonly kind: 'hold-harmonics'; readonly held: boolean }
  | { readonly kind: 'keep-marks' } | { readonly kind: 'drop-marks' }
  | { readonly kind: 'series'; readonly series: SessionState['series'] }
  | { readonly kind: 'look'; readonly look: SessionState['look'] }
  | { readonly kind: 'parts-list'; readonly chosen: boolean }
  | { readonly kind: 'margin'; readonly open: boolean }
  | { readonly kind: 'keys'; readonly keys: KeySettings }
  | { readonly kind: 'shelf'; readonly shelf: ShelfName | null }
  | { readonly kind: 'whole-page'; readonly page: WholePageName | null }
  | { readonly kind: 'go-to'; readonly open: boolean }
  /** The plate of a view; null closes it. */
  | { readonly kind: 'open-figure'; readonly view: string | null }
  | { readonly kind: 'figure-value'; readonly view: string; readonly parameter: string; readonly value: number | string; readonly phase: GesturePhase }
  | { readonly kind: 'figure-scope'; readonly scope: 'path' | 'stage' }
  /** `keptAt`: local ISO date and time. */
  | { readonly kind: 'keep-figure'; readonly view: string; readonly figure: Figure; readonly keptAt: string }
  | { readonly kind: 'drop-kept'; readonly id: string }
  /** An empty name: the one made of what differs from now. */
  | { readonly kind: 'name-kept'; readonly id: string; readonly name: string }
  // transport
  | { readonly kind: 'play' } | { readonly kind: 'pause' } | { readonly kind: 'silence' }
  | { readonly kind: 'switch'; readonly trialIn: boolean }
  | { readonly kind: 'seek'; readonly seconds: number }
  | { readonly kind: 'monitor'; readonly monitorDb: number }
  | { readonly kind: 'match'; readonly on: boolean }
  | { readonly kind: 'ask-tone'; readonly frequencyHz: number; readonly levelDbu: number }
  | { readonly kind: 'consent-tone' } | { readonly kind: 'refuse-tone' }
  | { readonly kind: 'tell'; readonly what: 'state' | 'harmonics' }
  // answers of the engine
  | { readonly kind: 'engine-state'; readonly engine: LiveState['engine'] }
  | { readonly kind: 'programme'; readonly programme: ProgrammeFacts }
  | { readonly kind: 'sounding'; readonly revision: number }
  | { readonly kind: 'measured'; readonly harmonics: HarmonicReadings }
  | { readonly kind: 'reported'; readonly revision: number; readonly reports: LiveState['reports']; readonly jointLevelsDbu: LiveState['jointLevelsDbu'] }
  /** Rules that were chosen for what plays, by stage. */
  | { readonly kind: 'ruled'; readonly revision: number; readonly rules: readonly (StoredRule | null)[] }
  | { readonly kind: 'headroom'; readonly revision: number; readonly headroom: PathHeadroom | null }
  | { readonly kind: 'interfaced'; readonly revision: number; readonly verdict: SuppliedReadings | null }
  | { readonly kind: 'supplied'; readonly revision: number; readonly figures: SupplyFigures | null }
  /** Verdicts on the joints, by stage. */
  | { readonly kind: 'probed'; readonly revision: number; readonly joints: readonly (StoredJoint | null)[] }
  | { readonly kind: 'matched'; readonly revision: number; readonly match: MatchState }
  | { readonly kind: 'match-applied' }
  | { readonly kind: 'spectrum'; readonly spectrum: LoopSpectrum | null }
  | { readonly kind: 'rendering'; readonly done: number | null }
  | { readonly kind: 'fault'; readonly revision: number; readonly fault: LiveState['fault'] }
  | { readonly kind: 'loops'; readonly why: string }
  | { readonly kind: 'solver'; readonly solver: LiveState['solver'] }
  | { readonly kind: 'message'; readonly text: string; readonly urgent: boolean }
  | { readonly kind: 'autosave-owner'; readonly owns: boolean };

/** Fast figures that bypass the state: written by the engine, read once a frame by the elements that draw them. */
export interface Readings {
  /** Position in the loop, seconds. */
  positionSeconds: number;
  /** Peak of the monitor output since last frame, dBFS, per channel. */
  readonly monitorPeakDb: Float64Array;
  /** Limiter gain reduction, dB (0 = idle). */
  limiterDb: number;
  /** Share of the block budget the processor used lately, 0–1. */
  audioLoad: number;
  lateBlocks: number;
  /** Overview of the current loop: pairs (minimum, maximum) per column. */
  overview: Float32Array;
  loopSeconds: number;
  /** Of a live input, ten times a second: largest magnitude of full scale, and how much of it can be kept. */
  readonly input: { peak: number; heldSeconds: number };
}

/** What the page asks of the engine; elements never see it. */
export interface Engine {
  readonly readings: Readings;
  /** What the open plate shows. */
  readonly figures: FigureFeed;
  /** Called after every reduction with the state before and after; sends what changed. */
  follow(before: BenchState, after: BenchState, action: Action): void;
  /** Once, with the state the page opens with: programs, harmonics, loop and match are made ready for the first press. */
  begin(state: BenchState): void;
  /** What was played since the path last began, to be rendered again bit for bit; null when nothing was. */
  playingLog(): PlayingLog | null;
  dispose(): Promise<void>;
}

/** A loop the page offers. */
export interface LoopEntry {
  readonly identifier: string;
  readonly title: string;
  readonly file: string;
  readonly channels: 1 | 2;
  readonly durationSeconds: number;
}

export interface BenchActionEvent extends CustomEvent<Action> {
  readonly type: 'bench-action';
}

/**
 * Shape of the page, by width: `wide` ≥ 1120 px; `folded` (margin folded into a disclosure) ≥ 1024; `docked` (the ledger stands
 * above the listening strip as upright bars) ≥ 640; `narrow` below.
 */
export type PageShape = 'wide' | 'folded' | 'docked' | 'narrow';

/** What `stage-bench` hands to `path-strip`, `stage-sheet`, `harmonic-ledger` and `margin-column` as properties. */
export interface RegionProperties {
  state: BenchState;
  shape: PageShape;
  /** Less than 560 px high: docks fold to one line each. */
  low: boolean;
}

/** `stage-sheet` can be asked to put the focus on one value of the open stage; false when it has no such value. */
export interface StageSheetElement extends HTMLElement, RegionProperties {
  focusValue(parameter: string): boolean;
}
