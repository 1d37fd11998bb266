import { sentenceOf } from '../sentence.ts';
import type { EngineContext } from './contract.ts';

/** Of work that nobody waits for: what it fails with is said, after `what` ("The spectrum of the loop is missing"). */
export function sayFailure({ dispatch }: Pick<EngineContext, 'dispatch'>, work: Promise<unknown>, what: string): void {
  work.catch((error: unknown) => dispatch({ kind: 'message', text: `${what}: ${sentenceOf(error)}.`, urgent: true }));
}
