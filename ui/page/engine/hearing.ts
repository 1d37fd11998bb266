/** Hands what the audio thread heard to the state, and keeps what was added up. */
import type { FromProcessor } from '../../../worklets/messages.ts';
import { lastTimeKey, listenerKey, readKeptHearing } from '../kept-hearing.ts';
import { noisePlays } from '../reduce-hearing.ts';
import { sentenceOf } from '../sentence.ts';
import type { BenchState } from '../state.ts';
import { storeAll, storeDelete, storeSet } from '../store.ts';
import type { EngineContext, EnginePart } from './contract.ts';

export class Hearing implements EnginePart {
  readonly #context: EngineContext;
  /** Whether it was said that nothing can be kept. */
  #toldRefusal = false;

  constructor(context: EngineContext) {
    this.#context = context;
    // Where nothing can be kept, it is said when there is something to keep.
    void storeAll('exposure').then((kept) => this.#context.dispatch({ kind: 'hearing-restored', ...readKeptHearing(kept) }), () => undefined);
  }

  /** Without a calibration a level means nothing, and is not passed on. */
  hear(message: FromProcessor): void {
    if (message.kind !== 'heard') return;
    const state = this.#context.state();
    if (state.live.hearing.calibration !== null || noisePlays(state)) this.#context.dispatch(message);
  }

  follow({ live: { hearing: before } }: BenchState, { live: { hearing: after } }: BenchState, action: { readonly kind: string }): void {
    if (action.kind === 'heard' && after.days !== before.days) this.#keepDays(before, after);
    if (after.calibration !== null && after.calibration !== before.calibration) this.#keep(storeSet('exposure', lastTimeKey, after.calibration));
    if (action.kind === 'hearing-listener') this.#keep(storeSet('exposure', listenerKey, after.listener));
  }

  #keepDays({ days: before }: BenchState['live']['hearing'], { days: after }: BenchState['live']['hearing']): void {
    for (const entry of after) if (!before.includes(entry)) this.#keep(storeSet('exposure', entry.day, entry));
    // Older than a week.
    for (const { day } of before) if (after.every((entry) => entry.day !== day)) this.#keep(storeDelete('exposure', day));
  }

  #keep(kept: Promise<void>): void {
    kept.catch((error: unknown) => {
      if (this.#toldRefusal) return;
      this.#toldRefusal = true;
      this.#context.dispatch({ kind: 'message', text: `The estimate of exposure is not kept for the next visit. ${sentenceOf(error)}`, urgent: false });
    });
  }
}
