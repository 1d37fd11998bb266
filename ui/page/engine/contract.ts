/** What the parts of the engine share, and what each of them is. Types only. */
import type * as Comlink from 'comlink';
import type { FromProcessor, Programme } from '../../../worklets/messages.ts';
import type { Live } from '../../../worklets/workers/live.ts';
import type { Measuring } from '../../../worklets/workers/measurer.ts';
import type { Pool } from '../../../worklets/workers/pool.ts';
import type { Action, BenchState, Readings } from '../state.ts';
import type { AudioGraph } from './audio-graph.ts';

export interface EngineContext {
  dispatch(action: Action): void;
  /** The newest. */
  state(): BenchState;
  /** Null before the first press of Play, and after sound has failed. */
  graph(): AudioGraph | null;
  /** What is on the bench to be heard; null: not loaded yet. */
  programme(): Programme | null;
  readonly readings: Readings;
  readonly live: Comlink.Remote<Live>;
  readonly measurer: Comlink.Remote<Measuring>;
  /** For what may wait, and may be cancelled. */
  readonly pool: Comlink.Remote<Pool>;
  /** A number for a job of the pool, by which it is cancelled. */
  newJob(): number;
}

/** One concern of the engine. All are asked in the order of their list, after every reduction. */
export interface EnginePart {
  follow(before: BenchState, after: BenchState, action: Action): void;
  /** There is a new audio node, connected and with its programme, but silent yet. */
  nodeBuilt?(graph: AudioGraph): void | Promise<void>;
  hear?(message: FromProcessor): void;
  dispose?(): void;
}
