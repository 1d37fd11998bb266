/** What the measurer answers, and what is on the bench by then. */
import { expect, it } from 'vitest';
import type { EngineContext } from '../../ui/page/engine/contract.ts';
import { LevelMatch } from '../../ui/page/engine/level-match.ts';
import type { MeasuredMatch } from '../../worklets/messages.ts';
import { makeBench } from './support.ts';

const found = { kind: 'matched', inGainDb: -1.84, outGainDb: 0, residualDb: 0.02 } as MeasuredMatch;

it('a match of the loop before is none of the loop that is being brought', () => {
  const { bench } = makeBench();
  let identifier = bench.state.session.loop;
  const match = new LevelMatch({ dispatch: (action) => bench.dispatch(action), state: () => bench.state, graph: () => null, programme: () => ({ identifier }) } as EngineContext);
  const kind = () => bench.state.live.match.kind;
  match.take(bench.state.live.revision, found);
  expect(kind()).toBe('matched');
  const other = identifier === 'piano' ? 'clarinet' : 'piano';
  bench.dispatch({ kind: 'loop', loop: other });
  match.take(bench.state.live.revision, found);
  expect(kind()).toBe('stale');
  identifier = other;
  match.take(bench.state.live.revision, found);
  expect(kind()).toBe('matched');
});
