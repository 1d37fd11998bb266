/** The searching bell: held up, swept, turned down; one entry of the history, or none. */
import { describe, expect, it } from 'vitest';
import { makeBench } from './support.ts';

const key = 's4';

function searching() {
  const made = makeBench();
  made.bench.dispatch({ kind: 'insert-stage', stage: 'equaliser', atIndex: 3 });
  const before = made.bench.state.setting.path.stages.find(({ stage }) => stage === 'equaliser')!;
  expect(before.key).toBe(key);
  made.set('step', 3, key, 'section3Quality');
  const depth = (): number => {
    let count = 0;
    while (made.bench.state.live.canUndo) {
      made.bench.dispatch({ kind: 'undo' });
      count += 1;
    }
    return count;
  };
  made.bench.dispatch({ kind: 'search', stageKey: key, section: 3 });
  return { ...made, depth, of: (part: string) => made.value(key, `section3${part}`) };
}

describe('a search', () => {
  it('holds a narrow bell up, and lets the match go stale as any change does', () => {
    const { bench, of } = searching();
    expect(['Kind', 'Db', 'Quality', 'QualityIs', 'QualityLaw'].map(of)).toEqual(['bell', 12, 8, 'half-gain', 'constant']);
    expect(bench.state.live.search).toEqual({ stageKey: key, section: 3 });
    expect(bench.state.live.canUndo).toBe(true);
  });

  it('is one entry, however it is swept, once it is turned down', () => {
    const { bench, set, of, depth, clock } = searching();
    set('begin', 500, key, 'section3Hz');
    set('move', 900, key, 'section3Hz');
    set('end', 1200, key, 'section3Hz');
    bench.dispatch({ kind: 'leave-value', stageKey: key, parameter: 'section3Hz' });
    clock.ms += 5000;
    set('step', 1300, key, 'section3Hz');
    set('step', 5, key, 'section3Quality');
    bench.dispatch({ kind: 'turn-down', amountDb: 3 });
    expect([of('Hz'), of('Db'), of('Quality'), bench.state.live.search]).toEqual([1300, 3, 5, null]);
    bench.dispatch({ kind: 'undo' });
    expect(['Kind', 'Hz', 'Db', 'Quality'].map(of)).toEqual(['off', 100, 0, 3]);
    bench.dispatch({ kind: 'redo' });
    expect([of('Kind'), of('Hz'), of('Db')]).toEqual(['bell', 1300, 3]);
    // The search, the Q before it, the stage.
    expect(depth()).toBe(3);
  });

  it('leaves no trace when it is left, by its button, by Escape while dragging, by opening another stage', () => {
    for (const leave of [
      ({ bench }: ReturnType<typeof searching>) => bench.dispatch({ kind: 'leave-search' }),
      ({ set }: ReturnType<typeof searching>) => { set('begin', 700, key, 'section3Hz'); set('cancel', 700, key, 'section3Hz'); },
      ({ bench }: ReturnType<typeof searching>) => bench.dispatch({ kind: 'open-stage', stageKey: 's1' }),
    ]) {
      const search = searching();
      search.set('step', 2500, key, 'section3Hz');
      leave(search);
      expect(['Kind', 'Hz', 'Db', 'Quality'].map(search.of)).toEqual(['off', 100, 0, 3]);
      expect(search.bench.state.live.search).toBeNull();
      expect(search.depth()).toBe(2);
    }
  });

  it('is undone whole while it is under way, and ends where something else is changed', () => {
    const undone = searching();
    undone.bench.dispatch({ kind: 'undo' });
    expect([undone.of('Kind'), undone.bench.state.live.search]).toEqual(['off', null]);
    const other = searching();
    other.set('step', 12);
    expect(other.bench.state.live.search).toBeNull();
    expect([other.of('Kind'), other.of('Db')]).toEqual(['bell', 12]);
    expect(other.depth()).toBe(4);
  });

  it('is not begun on a stage without sections, and turns nothing down when there is none', () => {
    const { bench } = makeBench();
    const { setting } = bench.state;
    bench.dispatch({ kind: 'search', stageKey: 's1', section: 1 });
    bench.dispatch({ kind: 'turn-down', amountDb: 3 });
    bench.dispatch({ kind: 'leave-search' });
    expect(bench.state.setting).toBe(setting);
    expect([bench.state.live.search, bench.state.live.canUndo]).toEqual([null, false]);
  });

  it('turns down to a cut, too, but never further than it was held up, nor to what is no number', () => {
    for (const [asked, got] of [[-6, -6], [40, 12], [NaN, 12]] as const) {
      const { bench, of } = searching();
      bench.dispatch({ kind: 'turn-down', amountDb: asked });
      expect(of('Db')).toBe(got);
    }
  });
});
