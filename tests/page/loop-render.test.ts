/** A render that is stopped and asked for anew before the older one has ended. */
import { expect, it } from 'vitest';
import type { EngineContext } from '../../ui/page/engine/contract.ts';
import { LoopRender } from '../../ui/page/engine/loop-render.ts';
import type { Action } from '../../ui/page/state.ts';
import { makeBench } from './support.ts';

it('the end of a stopped render does not stop the one that was asked for after it', async () => {
  const { bench } = makeBench();
  let jobs = 0;
  const ends = new Map<number, () => void>();
  const pool = { cancel: () => undefined, render: ({ job }: { job: number }) => new Promise<null>((resolve) => { ends.set(job, () => resolve(null)); }) };
  const context = { dispatch: (action: Action) => bench.dispatch(action), state: () => bench.state, programme: () => ({ rateHz: 48_000, channels: [] }), newJob: () => (jobs += 1), pool };
  const render = new LoopRender(context as unknown as EngineContext);
  bench.subscribe((before, after, action) => render.follow(before, after, action));
  for (const kind of ['render', 'stop-render', 'render'] as const) bench.dispatch({ kind });
  ends.get(1)!();
  await new Promise((resolve) => { setTimeout(resolve, 0); });
  expect(bench.state.live.rendering).toBe(0);
  ends.get(2)!();
  await new Promise((resolve) => { setTimeout(resolve, 0); });
  expect(bench.state.live.rendering).toBeNull();
});
