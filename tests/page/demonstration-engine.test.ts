/** A demonstration in the making, stopped and asked for anew while an older one still answers. */
import { expect, it } from 'vitest';
import type { EngineContext } from '../../ui/page/engine/contract.ts';
import { Demonstration } from '../../ui/page/engine/demonstration.ts';
import type { Action } from '../../ui/page/state.ts';
import { makeBench } from './support.ts';

const wish: Action = { kind: 'demonstrate', title: 'first look', words: null, blindTrials: null };

it('what an older wish brings neither ends nor answers the newer one', async () => {
  const { bench } = makeBench();
  let jobs = 0;
  const cancelled: number[] = [];
  // No loop is loaded: each wish is refused as soon as it is looked at.
  const context = { dispatch: (action: Action) => bench.dispatch(action), state: () => bench.state, programme: () => null, newJob: () => (jobs += 1), pool: { cancel: (job: number) => void cancelled.push(job) } };
  const demonstration = new Demonstration(context as unknown as EngineContext);
  const told: string[] = [];
  bench.subscribe((before, after, action) => {
    demonstration.follow(before, after, action);
    if (action.kind === 'message' || action.kind === 'demonstration-done') told.push(action.kind);
  });
  for (const action of [wish, { kind: 'stop-demonstration' }, wish] as const) bench.dispatch(action);
  await new Promise((resolve) => { setTimeout(resolve, 0); });
  expect(cancelled[0]).toBe(1);
  expect(told).toEqual(['message', 'demonstration-done']);
  expect(bench.state.live.demonstration.done).toBeNull();
});
