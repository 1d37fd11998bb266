/** Values found by name are values that can be gone to. */
import { describe, expect, it } from 'vitest';
import { findValues } from '../../ui/page/find-value.ts';
import { makeBench } from './support.ts';

describe('finding a value of a stage that shows only what does something', () => {
  it('finds what its sheet shows, and follows when that changes', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'insert-stage', stage: 'equaliser', atIndex: 3 });
    const key = bench.state.session.openStageKey;
    const found = (text: string) => findValues(bench.state.setting, key, text).map(({ parameter }) => parameter.id);
    expect(found('section 1, amount')).toEqual(['section1Db']);
    expect(found('section 4, amount')).toEqual([]);
    bench.dispatch({ kind: 'set-value', stageKey: key, parameter: 'section4Kind', value: 'bell', phase: 'end' });
    expect(found('section 4, amount')).toEqual(['section4Db']);
    // Of a circuit's drawing everything has a place.
    expect(findValues(bench.state.setting, key, 'RE1').map(({ parameter }) => parameter.id)).toContain('emitterOhms');
  });
});
