/** Everything that is said between page, audio thread and workers. Types only, every union told apart by `kind`. */
import type { LoopbackProbe, MatchDifferences, PathHeadroom } from '../dsp/measure/index.ts';
import type { OnTrial, PathSetting, RegionFrames, TrialPlan } from '../dsp/path/index.ts';
import type { SampleEncoding } from '../dsp/recording/index.ts';
import type { StoredJoint, StoredRule } from '../dsp/setting/index.ts';
import type { FigureFacts } from '../dsp/measure/figures/index.ts';
import type { StageReading, StageRemark, StageReport, StageValues } from '../dsp/stages/index.ts';
import type { KeyedModule, SentModule } from './compiled-code.ts';

/** A loop in memory, or the stretch of a long recording that is: one array a channel, ±1 is full scale. */
export interface Programme {
  readonly identifier: string;
  readonly rateHz: number;
  /** How its file holds a sample. */
  readonly encoding: SampleEncoding;
  readonly channels: readonly Float64Array[];
  /** Of the recording: the first one in memory. */
  readonly firstFrame: number;
}

/** What the audio node is made with. */
export interface ProcessorOptions {
  readonly plan: TrialPlan;
  /** Compiled code the plan needs; without it the loops run. */
  readonly modules: readonly KeyedModule[];
  readonly revision: number;
  readonly trialIn: boolean;
  readonly monitorGain: number;
  /** Ring for the meters; null: batched messages instead. */
  readonly meters: SharedArrayBuffer | null;
}

/** Where what plays is looked at: the path's output with the switch and its gains, before monitor level and limiter; or what goes into the path. */
export type TapPlace = 'output' | 'input';

/** Samples go into `ring`, or, where there is no shared memory, in batches through `port`. */
export interface TapRequest {
  readonly place: TapPlace;
  readonly ring: SharedArrayBuffer | null;
  readonly port: MessagePort | null;
}

/** Audio thread → spectrum worker, where there is no shared memory. `joined`: they follow on the batch before. */
export interface TappedSamples {
  readonly channels: readonly Float64Array[];
  readonly joined: boolean;
}

/** Page → audio thread. */
export type ToProcessor =
  /** The live worker's end: plans arrive there. */
  | { readonly kind: 'connect'; readonly port: MessagePort }
  /** `firstFrame`: of the recording, in which all frames are counted; 0 if absent. */
  | { readonly kind: 'programme'; readonly channels: readonly Float64Array[]; readonly firstFrame?: number; readonly region: RegionFrames; readonly frame: number }
  | { readonly kind: 'region'; readonly region: RegionFrames }
  | { readonly kind: 'seek'; readonly frame: number }
  /** From silence over 200 ms. */
  | { readonly kind: 'play' }
  /** To silence over 10 ms. */
  | { readonly kind: 'pause' }
  | { readonly kind: 'switch'; readonly trialIn: boolean }
  | { readonly kind: 'monitor'; readonly gain: number }
  /** Taken at the next switch, loop start or pause. */
  | { readonly kind: 'match'; readonly inGain: number; readonly outGain: number; readonly serial: number }
  /** A blind comparison begins: from here on only what comes by this port switches, and nothing is told that could tell which sounds. */
  | { readonly kind: 'blind'; readonly port: MessagePort }
  /** It has ended; in circuit or out as the page says again. */
  | { readonly kind: 'sighted'; readonly trialIn: boolean }
  /** Someone looks at what plays; null: nobody any more. */
  | { readonly kind: 'tap'; readonly tap: TapRequest | null }
  /** What the thing on trial adds over the region that plays; null: there is none any more. */
  | { readonly kind: 'difference'; readonly samples: DifferenceSamples | null }
  /** It is heard in place of the path, in step with it, raised by this ratio; or the path again. Never in a blind comparison. */
  | { readonly kind: 'hear-difference'; readonly heard: boolean; readonly gain: number }
  /** In place of the loop, from silence over 200 ms; null ends it. */
  | { readonly kind: 'tone'; readonly tone: { readonly frequencyHz: number; readonly peak: number } | null }
  /** Noise for a sound-level meter, like a tone; a tone of null ends it. `rms`: 1 is a full-scale constant. */
  | { readonly kind: 'reference-noise'; readonly rms: number }
  /** What goes into the path from here on: the loop, or what comes in from a device (null: the loop). */
  | { readonly kind: 'live-source'; readonly channels: InputChannels | null }
  /** Someone keeps what comes in; null: nobody any more. */
  | { readonly kind: 'keep-input'; readonly tap: TapRequest | null }
  /** Bursts are played past the path and the monitor level, and what comes in is recorded. Whatever else plays ends; whatever is asked to play ends it. */
  | { readonly kind: 'loopback'; readonly probe: LoopbackProbe; readonly peak: number };

/** Of a live input: both of its channels as one, both, or the left one alone. */
export type InputChannels = 'mono' | 'stereo' | 'left';

/** One array a channel, as long as the region. */
export interface DifferenceSamples extends RegionFrames {
  readonly channels: readonly Float64Array[];
}

/** Blind worker → audio thread. */
export interface BlindSwitch {
  readonly kind: 'hear';
  readonly trialIn: boolean;
}

/** Live worker → audio thread. `modules`: the compiled code the plan needs and the node has not had yet. */
export type PlanMessage = {
  readonly kind: 'plan'; readonly revision: number; readonly plan: TrialPlan; readonly modules: readonly SentModule[];
};

/** Audio thread → live worker. */
export type PlanAnswer =
  | { readonly kind: 'landed'; readonly revision: number; readonly frame: number }
  /** A plan came and could not be read: this browser lets no compiled module through. */
  | { readonly kind: 'unreadable' };

/** One line of the meters. */
export interface MeterFrame {
  readonly positionFrame: number;
  /** Frames the path has played since its log began. */
  readonly pathFrame: number;
  readonly peakLeft: number;
  readonly peakRight: number;
  /** Smallest gain of the limiter; 1 = idle. */
  readonly limiterGain: number;
  readonly load: number;
  readonly lateBlocks: number;
  /** Device evaluations a sample and channel since the path began, and its counts of trouble. */
  readonly meanEvaluations: number;
  readonly rescues: number;
  readonly capHits: number;
  readonly nonFinite: number;
}

/** Where the loop stands and what is played of it. */
export interface LoopPosition extends RegionFrames {
  readonly positionFrame: number;
}

export type LoggedRequest =
  | { readonly kind: 'plan'; readonly revision: number }
  | { readonly kind: 'switch'; readonly trialIn: boolean }
  | { readonly kind: 'match'; readonly inGain: number; readonly outGain: number }
  | ({ readonly kind: 'position' } & LoopPosition);

/** Audio thread → page. */
export type FromProcessor =
  /** Warmed up: what is asked for now sounds at once. `compiled`: all the plan's compiled code is here; else some of it runs as loops, to the same bits. */
  | { readonly kind: 'ready'; readonly compiled: boolean }
  /** `frame`: of the path, at the end of the block in which they landed. */
  | { readonly kind: 'landed'; readonly revision: number; readonly frame: number }
  | { readonly kind: 'switched'; readonly trialIn: boolean; readonly frame: number }
  | { readonly kind: 'match-applied'; readonly serial: number; readonly frame: number }
  /** The path stands at frame 0 with this in force: a log of the performance begins anew. */
  | {
      readonly kind: 'began'; readonly revision: number; readonly trialIn: boolean; readonly inGain: number; readonly outGain: number;
      /** A tone or a live input: not to be rendered again. */
      readonly tone: boolean; readonly live: boolean; readonly position: LoopPosition;
    }
  /** From here on something is heard that no log gives again, blind work or what is added: the log ends, and another begins with the next start from silence after it. */
  | { readonly kind: 'unlogged' }
  /** What was asked for, at the path's frame when it was: asked for again there, it lands as it did. */
  | { readonly kind: 'logged'; readonly frame: number; readonly change: LoggedRequest }
  /** Silent after a ramp: a pause is complete, a tone has ended. */
  | { readonly kind: 'quiet' }
  /** A-weighted squares of what went to the output since the last one, behind monitor level and limiter, times seconds; once a second of sound, of blind work after it. */
  | { readonly kind: 'heard'; readonly seconds: number; readonly leftSquareSeconds: number; readonly rightSquareSeconds: number }
  /** It has muted itself: what a live input gave rose as a howl does. */
  | { readonly kind: 'howl'; readonly frequencyHz: number }
  /** What came in since the first burst; null: it was ended before. */
  | { readonly kind: 'looped-back'; readonly recording: Float64Array<ArrayBuffer> | null }
  | { readonly kind: 'meters'; readonly frame: MeterFrame }
  /** A plan could not be taken; the one before plays on. */
  | { readonly kind: 'refused'; readonly revision: number; readonly sentence: string }
  /** The processor has muted itself for good: build a new node. */
  | { readonly kind: 'fault'; readonly sentence: string };

/** A whole path on one side of a pair. */
export interface PairSide {
  readonly path: PathSetting;
  readonly joints: readonly (StoredJoint | null)[] | null;
}

/** What the live worker plans. */
export interface PlanRequest {
  readonly revision: number;
  readonly path: PathSetting;
  /** Verdicts on the joints, as the setting stores them. */
  readonly joints: readonly (StoredJoint | null)[] | null;
  readonly baseRateHz: number;
  readonly onTrial: OnTrial;
  /** Two whole paths heard one or the other in place of `path`, which one of them may be; null: what `onTrial` says of `path`. */
  readonly pair: readonly [PairSide, PairSide] | null;
}

/** What the measuring worker computes for. */
export interface MeasureRequest extends PlanRequest {
  readonly probe: { readonly frequencyHz: number; readonly levelDbu: number };
  readonly scope: 'path' | 'stage';
  /** Stage whose harmonics scope 'stage' means. */
  readonly openStageKey: string;
}

/** A path whose figures as a whole are wanted. */
export interface PathFiguresRequest {
  readonly revision: number;
  readonly path: PathSetting;
  /** Null: a pair, which has no interface of its own. */
  readonly onTrial: OnTrial | null;
  readonly baseRateHz: number;
}

/** Pool → page; every answer carries the revision it belongs to. */
export type PathFiguresAnswer =
  /** Verdicts on the joints, by stage, as a setting stores them. */
  | { readonly kind: 'probed'; readonly revision: number; readonly joints: readonly (StoredJoint | null)[] }
  /** Null: the path oscillates. */
  | { readonly kind: 'headroom'; readonly revision: number; readonly headroom: PathHeadroom | null }
  /** What is on trial beside what its interface does; null where nothing but ideal ends is round a whole path. */
  | { readonly kind: 'interfaced'; readonly revision: number; readonly verdict: SuppliedReadings | null }
  /** Null: it has no supply but an ideal one. */
  | { readonly kind: 'supplied'; readonly revision: number; readonly figures: SupplyFigures | null };

/** Noise and what the rails carry, as readings: of what runs together under the key of its last stage, and of the whole path. */
export interface SupplyFigures {
  readonly stages: Readonly<Record<string, SuppliedReadings>>;
  readonly path: SuppliedReadings;
}

export interface SuppliedReadings {
  readonly readings: readonly StageReading[];
  readonly remarks: readonly StageRemark[];
}

/** One part of a figure: what is measured, of what, and which of its parts. */
export interface FigurePartRequest {
  /** Parts of one drawing share it; it is ended by this number. */
  readonly run: number;
  readonly view: string;
  readonly values: StageValues;
  /** Plain data of the view's own. */
  readonly part: unknown;
  readonly path: PathSetting;
  readonly joints: readonly (StoredJoint | null)[] | null;
  readonly baseRateHz: number;
  readonly scope: FigureFacts['scope'];
  /** For views of the music: which loop (`setFigureProgramme`) and what of it. */
  readonly programme: ({ readonly serial: number } & RegionFrames) | null;
}

export type FigurePartAnswer =
  | { readonly kind: 'measured'; readonly points: unknown }
  /** The view's own sentence, or what kept the path from being planned. */
  | { readonly kind: 'refused'; readonly sentence: string }
  | { readonly kind: 'cancelled' };

/** A loop as the workers that measure figures hold it, once each; on shared memory where the page is cross-origin isolated. */
export interface FigureLoop {
  readonly serial: number;
  readonly title: string;
  readonly rateHz: number;
  readonly channels: readonly Float64Array[];
}

export interface MeasuredFigure {
  readonly order: number;
  readonly db: number;
  readonly signedRatio: number;
  readonly phaseDegrees: number;
  /** Weaker than the noise in 1 Hz round it; absent also where the noise is off. */
  readonly underNoise?: true;
}

export type MeasuredMatch =
  | { readonly kind: 'off' } | { readonly kind: 'stale' } | { readonly kind: 'measuring' }
  | { readonly kind: 'cannot-match'; readonly why: string }
  /** `differences`: under these gains. */
  | { readonly kind: 'matched'; readonly inGainDb: number; readonly outGainDb: number; readonly residualDb: number; readonly differences: MatchDifferences };

/** A path, or figures of it, that could not be had: the sentence and the node or component it names. */
export interface PathFault {
  readonly kind: 'fault'; readonly revision: number; readonly stageKey: string; readonly sentence: string; readonly at: string | null;
}

/** Live worker → page; every answer carries the revision it belongs to. */
export type LiveAnswer =
  /** `rules`: that were chosen, by stage, as a setting stores them. */
  | { readonly kind: 'built'; readonly revision: number; readonly rules: readonly (StoredRule | null)[] }
  | PathFault;

/** Measuring worker → page; every answer carries the revision it belongs to. */
export type MeasurerAnswer =
  | {
      readonly kind: 'measured'; readonly revision: number; readonly scope: 'path' | 'stage';
      readonly frequencyHz: number; readonly levelDbu: number; readonly fundamentalDbu: number;
      readonly thdPercentF: number; readonly weightedPercent: number;
      readonly figures: readonly MeasuredFigure[]; readonly refusal: string | null;
    }
  | {
      readonly kind: 'reported'; readonly revision: number;
      readonly reports: Readonly<Record<string, StageReport>>; readonly jointLevelsDbu: Readonly<Record<string, number>>;
    }
  | { readonly kind: 'matched'; readonly revision: number; readonly match: MeasuredMatch }
  | PathFault;
