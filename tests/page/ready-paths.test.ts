import { describe, expect, it } from 'vitest';
import { parseSetting, readyPaths, readySetting, writeSetting } from '../../dsp/setting/index.ts';
import { mostStages } from '../../ui/page/reduce-setting.ts';
import { makeBench } from './support.ts';

describe.each(readyPaths.map(({ id, title }) => [id, title] as const))('the ready path %s', (id, title) => {
  it('takes the place of the setting as one step, in circuit, its first stage open; undo brings the other back', () => {
    const { bench } = makeBench();
    const before = bench.state.setting;
    bench.dispatch({ kind: 'switch', trialIn: false });
    bench.dispatch({ kind: 'shelf', shelf: 'paths' });
    bench.dispatch({ kind: 'ready-path', id });
    const { setting, session, live } = bench.state;
    expect(setting.title).toBe(title);
    expect(session.openStageKey).toBe(setting.path.stages[0]!.key);
    expect(live).toMatchObject({ trialIn: true, shelf: null, changedSinceFrozen: false, reports: {}, headroom: null });
    expect(live.message?.text).toContain('On the bench: ');
    expect(setting.path.stages.length).toBeLessThanOrEqual(mostStages);
    expect(writeSetting(parseSetting(writeSetting(setting)))).toBe(writeSetting(setting));
    bench.dispatch({ kind: 'undo' });
    expect(bench.state.setting).toEqual(before);
    expect(bench.state.live.canUndo).toBe(false);
  });

  it('says what to listen for, in a note', () => {
    const { notes } = readySetting(id);
    expect(notes).toHaveLength(1);
    expect(notes[0]!.text).toBe(readyPaths.find((path) => path.id === id)!.listenFor);
  });
});
