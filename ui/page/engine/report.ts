/** Measures what a report tells of the whole path, whatever is on trial, when one is opened. */
import { sentenceOf } from '../sentence.ts';
import type { Action, BenchState } from '../state.ts';
import type { EngineContext, EnginePart } from './contract.ts';

export class Report implements EnginePart {
  readonly #context: EngineContext;
  /** Of the newest one that was opened: what an older one brings is of a path that was. */
  #serial = 0;

  constructor(context: EngineContext) {
    this.#context = context;
  }

  follow(before: BenchState, after: BenchState, _action: Action): void {
    if (after.live.wholePage === 'report' && before.live.wholePage !== 'report') void this.#measure(after);
  }

  async #measure({ setting: { path, joints }, session: { probe }, live: { baseRateHz } }: BenchState): Promise<void> {
    const { dispatch, pool } = this.#context;
    this.#serial += 1;
    const serial = this.#serial;
    try {
      const harmonics = await pool.trialHarmonics({ path, joints, baseRateHz, onTrial: { kind: 'path' }, ...probe });
      if (serial === this.#serial) dispatch({ kind: 'report-harmonics', harmonics });
    } catch (error) {
      if (serial === this.#serial) dispatch({ kind: 'report-refused', sentence: `No harmonics could be measured: ${sentenceOf(error)}.` });
    }
  }
}
