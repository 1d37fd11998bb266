/** The one event elements send. */
import type { Action } from '../state.ts';

/** Asks the bench for something: a bubbling, composed `bench-action` whose detail is the action. */
export function sendAction(from: EventTarget, action: Action): void {
  from.dispatchEvent(new CustomEvent<Action>('bench-action', { detail: action, bubbles: true, composed: true }));
}
