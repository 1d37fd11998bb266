/** The audio graph and its node, made anew while an older making still waits. */
import { describe, expect, it } from 'vitest';
import type { AudioGraph } from '../../ui/page/engine/audio-graph.ts';
import { GraphKeeper } from '../../ui/page/engine/graph-keeper.ts';
import type { NodePlan } from '../../worklets/workers/live.ts';
import { makeBench } from './support.ts';

interface FakeGraph {
  readonly rateHz: number;
  readonly told: string[];
  closed: boolean;
}

/** Plans, and the way to the live worker, come when they are let through. */
function desk() {
  const { bench } = makeBench();
  let rateHz = 48_000;
  const state = () => ({ ...bench.state, live: { ...bench.state.live, baseRateHz: rateHz, playing: true } });
  const graphs: FakeGraph[] = [];
  const waiting = new Map<string, (() => void)[]>();
  const wait = (what: string) => new Promise<void>((resolve) => { waiting.set(what, [...waiting.get(what) ?? [], resolve]); });
  const plan = async (what: string): Promise<NodePlan> => {
    const asked = rateHz;
    await wait(what);
    return { plan: { baseRateHz: asked }, revision: 1, modules: [] } as unknown as NodePlan;
  };
  let joined = 0;
  const keeper = new GraphKeeper({
    dispatch: (action) => bench.dispatch(action), state,
    live: { newestPlan: () => plan('newest'), lastGoodPlan: () => plan('good'), connect: () => wait('connect') },
    makeGraph: (of) => {
      const graph: FakeGraph & Record<string, unknown> = { rateHz: of, told: [], closed: false, build: () => Promise.resolve(), drop: () => undefined, close: () => Promise.resolve(void (graph.closed = true)) };
      graphs.push(graph);
      return graph as unknown as AudioGraph;
    },
    asked: () => Promise.resolve(), frame: () => 0, attach: () => undefined,
    *tell(graph) {
      (graph as unknown as FakeGraph).told.push('programme');
      yield;
      (graph as unknown as FakeGraph).told.push('parts');
    },
    joined: () => { joined += 1; },
  });
  const settle = () => new Promise((resolve) => { setTimeout(resolve, 0); });
  const letThrough = async (what: string) => {
    await settle();
    for (const go of waiting.get(what) ?? []) go();
    waiting.delete(what);
    await settle();
  };
  return { bench, keeper, graphs, through: letThrough, joined: () => joined, rate: (next: number) => { rateHz = next; keeper.changeRate(); } };
}

const engine = ({ bench }: ReturnType<typeof desk>) => bench.state.live.engine.kind;

describe('the audio graph', () => {
  it('is made on a press and told everything once', async () => {
    const made = desk();
    made.keeper.start();
    expect([engine(made), made.keeper.joined]).toEqual(['starting', false]);
    for (const what of ['newest', 'connect']) await made.through(what);
    expect([made.graphs.map(({ told }) => told), made.joined(), made.keeper.joined]).toEqual([[['programme', 'parts']], 1, true]);
  });

  it('whose node dies while it is told is told once more, not twice', async () => {
    const made = desk();
    made.keeper.start();
    await made.through('newest');
    made.keeper.rebuild('of a test');
    // Of the first node: it is none any more.
    await made.through('connect');
    expect([made.graphs[0]!.told, made.joined()]).toEqual([[], 0]);
    for (const what of ['good', 'connect']) await made.through(what);
    expect([made.graphs[0]!.told, made.joined(), made.keeper.rebuiltAfter]).toEqual([['programme', 'parts'], 1, 'of a test']);
  });

  it('of another rate is not given what was planned for the one before, nor ended by it', async () => {
    const made = desk();
    made.keeper.start();
    for (const what of ['newest', 'connect']) await made.through(what);
    made.keeper.rebuild('of a test');
    made.rate(96_000);
    await made.through('good');
    expect([engine(made), made.graphs.map(({ closed }) => closed)]).toEqual(['starting', [true, false]]);
    for (const what of ['newest', 'connect']) await made.through(what);
    expect([made.keeper.graph, made.graphs[1]!.told, made.joined()]).toEqual([made.graphs[1], ['programme', 'parts'], 2]);
  });

  it('ends with a sentence where its node dies twice', async () => {
    const made = desk();
    made.keeper.start();
    for (const what of ['newest', 'connect']) await made.through(what);
    for (const fault of ['first', 'second']) made.keeper.rebuild(fault);
    await made.through('good');
    expect([engine(made), made.keeper.graph, made.joined()]).toEqual(['failed', null, 1]);
  });
});
