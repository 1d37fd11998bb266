import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { writeSetting } from '../../dsp/setting/index.ts';
import { restoreAutosave, writeAutosave } from '../../ui/page/autosave.ts';
import { parseLoops } from '../../ui/page/loops.ts';
import { loops, makeBench } from './support.ts';

function usedBench() {
  const made = makeBench();
  made.set('end', 12);
  made.bench.dispatch({ kind: 'freeze' });
  made.bench.dispatch({ kind: 'move-stage', stageKey: 's1', toIndex: 2 });
  made.bench.dispatch({ kind: 'open-stage', stageKey: 's3' });
  made.bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'stage', key: 's1' } });
  made.bench.dispatch({ kind: 'loop', loop: 'clarinet' });
  made.bench.dispatch({ kind: 'region', region: { startSeconds: 1, endSeconds: 2.5 } });
  made.bench.dispatch({ kind: 'probe', frequencyHz: 1000, levelDbu: -3 });
  made.bench.dispatch({ kind: 'look', look: 'dark' });
  made.bench.dispatch({ kind: 'monitor', monitorDb: -6 });
  made.bench.dispatch({ kind: 'play' });
  made.bench.dispatch({ kind: 'keys', keys: { ...made.bench.state.session.keys, singleLetters: false, letters: { ...made.bench.state.session.keys.letters, toggle: 'x' } } });
  return made;
}

describe('autosave', () => {
  beforeEach(() => void vi.spyOn(console, 'warn').mockImplementation(() => undefined));
  afterEach(() => vi.restoreAllMocks());

  it('restores setting and session, never the monitor level nor the sound', () => {
    const { bench } = usedBench();
    const { state, frozen } = restoreAutosave(writeAutosave(bench.state, bench.frozen), loops);
    expect(writeSetting(state.setting)).toBe(writeSetting(bench.state.setting));
    expect(writeSetting(frozen)).toBe(writeSetting(bench.frozen));
    const { openStageKey, onTrial, ...rest } = state.session;
    const { openStageKey: _open, onTrial: _trial, ...before } = bench.state.session;
    expect(rest).toEqual(before);
    // Keys are given anew by place: s3 stood second, s1 last.
    expect(openStageKey).toBe('s2');
    expect(onTrial).toEqual({ kind: 'stage', key: 's3' });
    expect(state.live.monitorDb).toBe(-20);
    expect(state.live.playing).toBe(false);
    const again = makeBench(state);
    expect(again.bench.state.live.changedSinceFrozen).toBe(false);
  });

  it('does not say "changed" after reloading what was frozen', () => {
    const { bench } = makeBench();
    const { state, frozen } = restoreAutosave(writeAutosave(bench.state, bench.frozen), loops);
    expect(frozen).toBe(state.setting);
  });

  it('falls back to the opening setting with one sentence when damaged', () => {
    const { bench } = usedBench();
    const text = writeAutosave(bench.state, bench.frozen);
    const damaged = ['', '{', 'null', '[]', '{}', text.slice(0, 500), text.replace('"version":1', '"version":7'), text.replace('push-pull', 'pull-push'), text.replace(/"session":\{/, '"session":[],"x":{')];
    const opening = makeBench().bench.state;
    for (const bad of damaged) {
      const { state } = restoreAutosave(bad, loops);
      expect(state.setting).toEqual(opening.setting);
      expect(state.session).toEqual(opening.session);
      expect(state.live.message?.text).toBe('The last session could not be read back; this is the opening setting.');
    }
  });

  it('takes fields of the session that make no sense from the opening', () => {
    const { bench } = usedBench();
    const stored = JSON.parse(writeAutosave(bench.state, bench.frozen));
    stored.session = { ...stored.session, probe: { frequencyHz: 1e9, levelDbu: 0 }, region: { startSeconds: 5, endSeconds: 4 }, look: 'neon', openStage: 99, keptMarks: { 2: 'x' }, keys: { letters: { toggle: 'cc' } } };
    const { session } = restoreAutosave(JSON.stringify(stored), loops).state;
    expect(session.probe).toEqual({ frequencyHz: 200, levelDbu: 4 });
    expect(session.region).toBeNull();
    expect(session.look).toBe('system');
    expect(session.openStageKey).toBe('s1');
    expect(session.keptMarks).toBeNull();
    expect(session.keys.letters.toggle).toBe('c');
  });
});

describe('list of loops', () => {
  it('names the entry that is wrong', () => {
    expect(parseLoops([{ ...loops[0] }])).toEqual([loops[0]]);
    expect(parseLoops({ loops: [{ ...loops[0] }] })).toEqual([loops[0]]);
    expect(() => parseLoops([{ ...loops[0] }, { identifier: 'x' }])).toThrow('loops.json, entry 2');
    expect(() => parseLoops([{ ...loops[0], channels: 3 }])).toThrow('channels 1 or 2');
    expect(() => parseLoops('x')).toThrow('expected a list');
  });
});
