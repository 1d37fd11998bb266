import { describe, expect, it } from 'vitest';
import { openingSetting, parseSetting, writeSetting } from '../../dsp/setting/index.ts';
import { stageById } from '../../dsp/stages/index.ts';
import { reduce } from '../../ui/page/bench.ts';
import { freezeFileName } from '../../ui/page/freeze.ts';
import type { Action, MatchState } from '../../ui/page/state.ts';
import { harmonicsAt, makeBench } from './support.ts';

const matched: MatchState = { kind: 'matched', inGainDb: -1.84, outGainDb: 0, residualDb: 0.02, waitsForSwitch: false };

describe('opening', () => {
  it('is silent, at −20 dB, with the push-pull stage open on the piano loop', () => {
    const { bench } = makeBench();
    const { session, live, setting } = bench.state;
    expect(live.playing).toBe(false);
    expect(live.monitorDb).toBe(-20);
    expect(session.loop).toBe('piano');
    expect(setting.path.stages.find(({ key }) => key === session.openStageKey)?.stage).toBe('push-pull');
    expect(live.changedSinceFrozen).toBe(false);
  });
});

describe('values', () => {
  it('come in their range, and nothing else is taken for one', () => {
    const { bench, set, value } = makeBench();
    const { minimum, maximum } = stageById('push-pull').parameters.find(({ id }) => id === 'emitterOhms') as { minimum: number; maximum: number };
    set('end', 1e12);
    expect(value('s2', 'emitterOhms')).toBe(maximum);
    set('end', -1);
    expect(value('s2', 'emitterOhms')).toBe(minimum);
    const { setting } = bench.state;
    set('end', NaN);
    set('end', 5, 's2', 'noSuchValue');
    set('end', 5, 's9');
    expect(bench.state.setting).toBe(setting);
  });

  it('keeps the old value and the sentence when an entry is refused; the next good value clears it', () => {
    const { bench, set } = makeBench();
    bench.dispatch({ kind: 'refuse-value', stageKey: 's2', parameter: 'emitterOhms', sentence: 'RE: "4x7" is not a number.' });
    expect(bench.state.live.refusals).toEqual({ 's2.emitterOhms': 'RE: "4x7" is not a number.' });
    set('step', 12);
    expect(bench.state.live.refusals).toEqual({});
  });

  it('raises the revision once a change, and not for title, notes or match', () => {
    const { bench, set } = makeBench();
    const { revision } = bench.state.live;
    set('step', 12);
    set('step', 12);
    expect(bench.state.live.revision).toBe(revision + 1);
    bench.dispatch({ kind: 'rename', title: 'second draft' });
    bench.dispatch({ kind: 'note', text: 'softer decay' });
    bench.dispatch({ kind: 'matched', revision: revision + 1, match: matched });
    expect(bench.state.live.revision).toBe(revision + 1);
    expect(bench.state.setting.notes).toMatchObject([{ date: '2026-11-25', text: 'softer decay' }]);
  });
});

describe('match', () => {
  it('goes stale with value, loop, region and what is on trial; not when it is off', () => {
    const changes: readonly Action[] = [
      { kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 12, phase: 'step' },
      { kind: 'loop', loop: 'clarinet' },
      { kind: 'region', region: { startSeconds: 0, endSeconds: 1 } },
      { kind: 'on-trial', onTrial: { kind: 'stage', key: 's1' } },
    ];
    for (const change of changes) {
      const { bench } = makeBench();
      bench.dispatch({ kind: 'matched', revision: 1, match: matched });
      expect(bench.state.live.match.kind).toBe('matched');
      bench.dispatch(change);
      expect(bench.state.live.match.kind, change.kind).toBe('stale');
      bench.dispatch({ kind: 'match', on: false });
      bench.dispatch({ kind: 'matched', revision: bench.state.live.revision, match: matched });
      expect(bench.state.live.match.kind).toBe('off');
      bench.dispatch({ kind: 'calibration', fullScaleDbu: 18 });
      expect(bench.state.live.match.kind).toBe('off');
    }
  });

  it('is stored in the setting without counting as a change, and an older answer is dropped', () => {
    const { bench, set } = makeBench();
    bench.dispatch({ kind: 'matched', revision: 1, match: matched });
    expect(bench.state.setting.levelMatch).toEqual({ onTrial: 'path', inGainDb: -1.84, outGainDb: 0, residualDb: 0.02, programme: 'piano' });
    expect(bench.state.live.changedSinceFrozen).toBe(false);
    set('step', 12);
    bench.dispatch({ kind: 'matched', revision: 1, match: matched });
    expect(bench.state.live.match.kind).toBe('stale');
  });
});

describe('answers of the engine', () => {
  it('keeps the newest harmonics of the scope and probe asked for', () => {
    const { bench, set } = makeBench();
    set('step', 12);
    set('step', 13);
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(2, -70) });
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(3, -80, { scope: 'stage' }) });
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(3, -80, { frequencyHz: 1000 }) });
    expect(bench.state.live.harmonics?.figures[0]?.db).toBe(-70);
  });

  it('holds the ledger still and shows the newest figures when it is let go', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
    bench.dispatch({ kind: 'hold-harmonics', held: true });
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -70) });
    expect(bench.state.live.harmonics?.figures[0]?.db).toBe(-60);
    bench.dispatch({ kind: 'hold-harmonics', held: false });
    expect(bench.state.live.harmonics?.figures[0]?.db).toBe(-70);
  });
});

describe('transport', () => {
  it('is silenced in every state, and a tone plays only with consent', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'consent-tone' });
    expect(bench.state.live.tonePlaying).toBe(false);
    bench.dispatch({ kind: 'play' });
    bench.dispatch({ kind: 'ask-tone', frequencyHz: 1000, levelDbu: 4 });
    expect(bench.state.live.playing).toBe(true);
    bench.dispatch({ kind: 'consent-tone' });
    expect(bench.state.live).toMatchObject({ playing: false, tonePlaying: true, toneAsked: null });
    bench.dispatch({ kind: 'ask-tone', frequencyHz: 1000, levelDbu: 4 });
    bench.dispatch({ kind: 'silence' });
    expect(bench.state.live).toMatchObject({ playing: false, tonePlaying: false, toneAsked: null });
  });

  it('never lets the monitor above 0 dB', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'monitor', monitorDb: 12 });
    expect(bench.state.live.monitorDb).toBe(0);
    bench.dispatch({ kind: 'monitor', monitorDb: NaN });
    expect(bench.state.live.monitorDb).toBe(0);
  });
});

describe('freeze and thaw', () => {
  it('are an exact pair', () => {
    const { bench, set } = makeBench();
    set('end', 12);
    expect(bench.state.live.changedSinceFrozen).toBe(true);
    bench.dispatch({ kind: 'freeze' });
    expect(bench.state.live.changedSinceFrozen).toBe(false);
    const text = writeSetting(bench.state.setting);
    const other = makeBench();
    other.bench.dispatch({ kind: 'thaw', text, fileName: 'x.json' });
    expect(writeSetting(other.bench.state.setting)).toBe(text);
    expect(other.bench.state.live.changedSinceFrozen).toBe(false);
    other.bench.dispatch({ kind: 'undo' });
    expect(writeSetting(other.bench.state.setting)).toBe(writeSetting(openingSetting()));
  });

  it('changes nothing for a hostile or foreign file, and says one sentence', () => {
    const good = writeSetting(openingSetting());
    const hostile = ['', 'RIFF\u0000', '[]', 'null', '{}', '{"format":"stagebench/setting"}', good.slice(0, -40), good.replace('"push-pull"', '"pull-push"'),
      '{"__proto__":{"x":1}}', '<script>alert(1)</script>', good.replace(/"version": \d+/, '"version": 99')];
    for (const text of hostile) {
      const { bench } = makeBench();
      const before = bench.state.setting;
      bench.dispatch({ kind: 'thaw', text, fileName: 'foreign.json' });
      expect(bench.state.setting).toBe(before);
      expect(bench.state.live.canUndo).toBe(false);
      expect(bench.state.live.message?.urgent).toBe(true);
      expect(bench.state.live.message?.text).toMatch(/^foreign\.json was not thawed\. [^\n]{10,300}$/);
    }
  });

  it('names the file after the title', () => {
    expect(freezeFileName('village hall, first look')).toBe('village-hall-first-look.setting.json');
    expect(freezeFileName('../../ÉTÉ: a*b')).toBe('e-te-a-b.setting.json');
    expect(freezeFileName('日本')).toBe('setting.setting.json');
  });
});

describe('first look', () => {
  it('strikes its lines as they are done and then folds away', () => {
    const { bench } = makeBench();
    const quiescent = Number(bench.state.setting.path.stages[1]!.values['quiescentAmperes']);
    bench.dispatch({ kind: 'play' });
    bench.dispatch({ kind: 'switch', trialIn: false });
    bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'quiescentAmperes', value: quiescent / 2, phase: 'step' });
    expect(bench.state.session.firstLook).toEqual({ played: true, switched: true, dialled: false, frozen: false });
    bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'quiescentAmperes', value: quiescent * 2, phase: 'step' });
    bench.dispatch({ kind: 'freeze' });
    expect(bench.state.session.firstLook).toBeNull();
  });
});

describe('reduce', () => {
  it('changes nothing it was given', () => {
    const { bench } = makeBench();
    const frozenDeep = structuredClone(bench.state);
    reduce(bench.state, { kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 12, phase: 'step' });
    reduce(bench.state, { kind: 'move-stage', stageKey: 's1', toIndex: 2 });
    reduce(bench.state, { kind: 'insert-stage', stage: 'push-pull', atIndex: 1 });
    expect(bench.state).toEqual(frozenDeep);
  });

  it('gives an inserted stage a key of its own and opens it; the last stage stays', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'remove-stage', stageKey: 's2' });
    bench.dispatch({ kind: 'insert-stage', stage: 'push-pull', atIndex: 0 });
    const keys = bench.state.setting.path.stages.map(({ key }) => key);
    expect(new Set(keys).size).toBe(3);
    expect(bench.state.session.openStageKey).toBe(keys[0]);
    for (const key of keys) bench.dispatch({ kind: 'remove-stage', stageKey: key });
    expect(bench.state.setting.path.stages).toHaveLength(1);
    expect(parseSetting(writeSetting(bench.state.setting)).path.stages).toHaveLength(1);
  });

  it('tells every listener of every action in order, also those sent by a listener', () => {
    const { bench } = makeBench();
    const heard: string[] = [];
    bench.subscribe((_before, _after, action) => {
      heard.push(`first ${action.kind}`);
      if (action.kind === 'play') bench.dispatch({ kind: 'engine-state', engine: { kind: 'starting' } });
    });
    bench.subscribe((_before, _after, action) => heard.push(`second ${action.kind}`));
    bench.dispatch({ kind: 'play' });
    expect(heard).toEqual(['first play', 'second play', 'first engine-state', 'second engine-state']);
  });
});
