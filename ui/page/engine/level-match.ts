/** The level match as measured goes to the audio thread, which takes it at the next switch, loop start or pause. */
import { decibelsToRatio } from '../../../dsp/math/index.ts';
import type { FromProcessor, MeasuredMatch } from '../../../worklets/messages.ts';
import { matchedOnKept } from '../reduce-live-input.ts';
import type { Action, BenchState } from '../state.ts';
import type { AudioGraph } from './audio-graph.ts';
import type { EngineContext, EnginePart } from './contract.ts';
import { sayFailure } from './say-failure.ts';

export class LevelMatch implements EnginePart {
  readonly #context: EngineContext;
  #serial = 0;
  #gains = { inGain: 1, outGain: 1 };

  constructor(context: EngineContext) {
    this.#context = context;
  }

  begin(state: BenchState): void {
    if (state.live.match.kind === 'off') this.#tellMeasurer(false);
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    if (action.kind === 'match') this.#set(action.on);
    if (after.live.input.sounding !== before.live.input.sounding) this.#send(this.#context.graph());
  }

  /** The measurer's answer. */
  take(revision: number, match: MeasuredMatch): void {
    const { dispatch, programme, state } = this.#context;
    // Another loop is being brought: this is of the one before.
    if (match.kind !== 'off' && programme()?.identifier !== state().session.loop) return;
    if (match.kind !== 'matched') {
      dispatch({ kind: 'matched', revision, match });
      return;
    }
    // Measured of something that is not on trial any more.
    if (revision < state().live.trialRevision) return;
    this.#gains = { inGain: decibelsToRatio(match.inGainDb), outGain: decibelsToRatio(match.outGainDb) };
    dispatch({ kind: 'matched', revision, match: { ...match, waitsForSwitch: this.#context.graph()?.built === true } });
    this.#send(this.#context.graph());
  }

  nodeBuilt(graph: AudioGraph): void {
    this.#send(graph);
  }

  hear(message: FromProcessor): void {
    if (message.kind === 'match-applied' && message.serial === this.#serial) this.#context.dispatch({ kind: 'match-applied' });
  }

  #send(graph: AudioGraph | null): void {
    this.#serial += 1;
    // Of a live input only what was kept of it has been measured.
    const state = this.#context.state();
    const gains = state.live.input.sounding && !matchedOnKept(state) ? { inGain: 1, outGain: 1 } : this.#gains;
    graph?.send({ kind: 'match', ...gains, serial: this.#serial });
  }

  #set(on: boolean): void {
    if (!on) {
      this.#gains = { inGain: 1, outGain: 1 };
      this.#send(this.#context.graph());
    }
    this.#tellMeasurer(on);
  }

  #tellMeasurer(on: boolean): void {
    sayFailure(this.#context, this.#context.measurer.setMatch(on), 'The level match could not be switched');
  }
}
