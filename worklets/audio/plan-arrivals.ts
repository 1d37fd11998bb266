import { adoptModules, compiledModules } from '../compiled-code.ts';
import type { PlanAnswer, PlanMessage } from '../messages.ts';

/** One whose modules are here. */
export type ArrivedPlan = Pick<PlanMessage, 'plan' | 'revision'>;

/**
 * Plans as they come from the live worker. Some browsers let no compiled module through to the audio thread: then a message cannot be read, the worker is told so, and sends bytes, which
 * are compiled on the engine's own threads before the plan is taken. Between callbacks; may allocate.
 */
export class PlanArrivals {
  readonly #take: (plan: ArrivedPlan) => void;
  /** Of the newest plan. */
  #serial = 0;
  #compiling: Promise<void> | null = null;

  /** `take` gets plans whose modules are here, the newest only; it must not throw. */
  constructor(take: (plan: ArrivedPlan) => void) {
    this.#take = take;
  }

  listen(port: MessagePort): void {
    port.onmessage = ({ data }: MessageEvent<PlanMessage>) => this.#arrive(data);
    port.onmessageerror = () => port.postMessage({ kind: 'unreadable' } satisfies PlanAnswer);
  }

  #arrive(plan: PlanMessage): void {
    this.#serial += 1;
    const serial = this.#serial;
    const ready = plan.modules.flatMap((sent) => ('module' in sent ? [sent] : []));
    adoptModules(ready);
    if (this.#compiling === null && ready.length === plan.modules.length) {
      this.#take(plan);
      return;
    }
    // A later plan may need what an earlier one brought: one after the other. What does not compile runs as loops.
    const before = this.#compiling ?? Promise.resolve();
    this.#compiling = before.then(() => compiledModules(plan.modules).then(adoptModules, () => undefined)).then(() => {
      if (serial !== this.#serial) return;
      this.#compiling = null;
      this.#take(plan);
    });
  }
}
