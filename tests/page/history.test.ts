import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { writeSetting } from '../../dsp/setting/index.ts';
import { harmonicsAt, makeBench } from './support.ts';

describe('undo', () => {
  it('makes one drag one entry, and restores the very path that was there', () => {
    const { bench, set, value } = makeBench();
    const before = bench.state.setting.path;
    set('begin', 10);
    for (let ohms = 11; ohms <= 40; ohms += 1) set('move', ohms);
    expect(bench.dragging).toBe(true);
    set('end', 41);
    expect(bench.dragging).toBe(false);
    expect(value('s2', 'emitterOhms')).toBe(41);
    bench.dispatch({ kind: 'undo' });
    expect(bench.state.setting.path).toBe(before);
    expect(bench.state.live.canUndo).toBe(false);
    bench.dispatch({ kind: 'redo' });
    expect(value('s2', 'emitterOhms')).toBe(41);
  });

  it('tells what it brought back, with the unit as a word', () => {
    const { bench, set } = makeBench();
    set('end', 4700, 's2', 'loadOhms');
    bench.dispatch({ kind: 'undo' });
    expect(bench.state.live.message?.text).toBe('undone, RL 600 ohm');
    bench.dispatch({ kind: 'redo' });
    expect(bench.state.live.message?.text).toBe('redone, RL 4.7 kilohm');
    bench.dispatch({ kind: 'redo' });
    expect(bench.state.live.message?.text).toBe('Nothing to redo.');
  });

  it('joins key steps on one value within 800 ms, and no later ones', () => {
    const { set, clock, undoDepth } = makeBench();
    for (const ohms of [11, 12, 13]) {
      clock.ms += 800;
      set('step', ohms);
    }
    clock.ms += 801;
    set('step', 14);
    expect(undoDepth()).toBe(2);
  });

  it('closes the step when the value is left, or another is stepped', () => {
    const left = makeBench();
    left.set('step', 11);
    left.bench.dispatch({ kind: 'leave-value', stageKey: 's2', parameter: 'emitterOhms' });
    left.set('step', 12);
    expect(left.undoDepth()).toBe(2);

    const other = makeBench();
    other.set('step', 11);
    other.set('step', 700, 's2', 'loadOhms');
    other.set('step', 12);
    expect(other.undoDepth()).toBe(3);
  });

  it('forgets a cancelled drag and one that came back to where it began', () => {
    const { bench, set, value, undoDepth } = makeBench();
    set('begin', 10);
    set('move', 30);
    set('cancel', 30);
    expect(value('s2', 'emitterOhms')).toBe(10);
    set('begin', 10);
    set('move', 30);
    set('end', 10);
    expect(bench.state.live.canUndo).toBe(false);
    expect(undoDepth()).toBe(0);
  });

  it('finishes the drag when something else is done meanwhile', () => {
    const { bench, set, value, undoDepth } = makeBench();
    set('begin', 10);
    set('move', 30);
    bench.dispatch({ kind: 'stage-in-out', stageKey: 's1', inCircuit: false });
    bench.dispatch({ kind: 'undo' });
    expect(value('s2', 'emitterOhms')).toBe(30);
    expect(undoDepth()).toBe(1);
  });

  it('covers stage in/out, order, calibration; not the whole path in/out, monitor, loop, region', () => {
    const { bench, undoDepth } = makeBench();
    bench.dispatch({ kind: 'switch', trialIn: false });
    bench.dispatch({ kind: 'monitor', monitorDb: -30 });
    bench.dispatch({ kind: 'loop', loop: 'clarinet' });
    bench.dispatch({ kind: 'region', region: { startSeconds: 1, endSeconds: 2 } });
    bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'stage', key: 's3' } });
    bench.dispatch({ kind: 'open-stage', stageKey: 's1' });
    expect(bench.state.live.canUndo).toBe(false);
    bench.dispatch({ kind: 'stage-in-out', stageKey: 's1', inCircuit: false });
    bench.dispatch({ kind: 'move-stage', stageKey: 's1', toIndex: 2 });
    bench.dispatch({ kind: 'calibration', fullScaleDbu: 18 });
    bench.dispatch({ kind: 'reverse-polarity', stageKey: 's2' });
    expect(undoDepth()).toBe(4);
    expect(bench.state.live.monitorDb).toBe(-30);
    expect(bench.state.session.loop).toBe('clarinet');
  });

  it('brings back a removed stage and settles what was open and on trial', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'stage', key: 's2' } });
    bench.dispatch({ kind: 'remove-stage', stageKey: 's2' });
    expect(bench.state.session.openStageKey).toBe('s3');
    expect(bench.state.session.onTrial).toEqual({ kind: 'path' });
    bench.dispatch({ kind: 'undo' });
    expect(bench.state.setting.path.stages.map(({ key }) => key)).toEqual(['s1', 's2', 's3']);
  });

  it('sets marks where the bars stood when a gesture began, and not while it goes on', () => {
    const { bench, set, clock } = makeBench();
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
    set('begin', 10);
    expect(bench.state.live.gestureMarks?.[2]).toBe(-60);
    expect(bench.state.live.gestureMarks).not.toHaveProperty('9');
    set('move', 20);
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(bench.state.live.revision, -70) });
    set('move', 21);
    expect(bench.state.live.gestureMarks?.[2]).toBe(-60);
    set('end', 21);
    set('step', 22);
    expect(bench.state.live.gestureMarks?.[2]).toBe(-70);
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(bench.state.live.revision, -75) });
    clock.ms += 500;
    set('step', 23);
    expect(bench.state.live.gestureMarks?.[2]).toBe(-70);
  });

  it('returns to the same bytes after any gestures, and forward again', () => {
    const gesture = fc.record({
      stageKey: fc.constantFrom('s1', 's2', 's3'),
      what: fc.constantFrom('drag', 'step', 'inOut', 'move', 'polarity'),
      share: fc.double({ min: 0, max: 1, noNaN: true }),
      ms: fc.integer({ min: 0, max: 2000 }),
    });
    fc.assert(fc.property(fc.array(gesture, { maxLength: 25 }), (gestures) => {
      const { bench, clock, undoDepth } = makeBench();
      const untouched = writeSetting(bench.state.setting);
      for (const { stageKey, what, share, ms } of gestures) {
        clock.ms += ms;
        const ohms = 1 + Math.round(share * 99);
        if (what === 'drag') for (const phase of ['begin', 'move', 'end'] as const) bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: ohms, phase });
        if (what === 'step') bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'loadOhms', value: 100 * ohms, phase: 'step' });
        if (what === 'inOut') bench.dispatch({ kind: 'stage-in-out', stageKey, inCircuit: share > 0.5 });
        if (what === 'move') bench.dispatch({ kind: 'move-stage', stageKey, toIndex: Math.floor(share * 3) });
        if (what === 'polarity') bench.dispatch({ kind: 'reverse-polarity', stageKey });
      }
      const touched = writeSetting(bench.state.setting);
      const depth = undoDepth();
      expect(writeSetting(bench.state.setting)).toBe(untouched);
      expect(bench.state.live.changedSinceFrozen).toBe(false);
      for (let step = 0; step < depth; step += 1) bench.dispatch({ kind: 'redo' });
      expect(writeSetting(bench.state.setting)).toBe(touched);
    }), { seed: 20261125, numRuns: 60 });
  });
});
