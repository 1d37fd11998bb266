import { describe, expect, it, vi } from 'vitest';
import { openingSetting, writeSetting } from '../../dsp/setting/index.ts';
import { restoreAutosave, writeAutosave } from '../../ui/page/autosave.ts';
import { readDrafts, writeDrafts } from '../../ui/page/drafts-text.ts';
import { noDrafts } from '../../ui/page/no-drafts.ts';
import { hearsBench, pairAsked, pairsAtHand, samePair } from '../../ui/page/pair.ts';
import type { MatchState } from '../../ui/page/state.ts';
import { inName, outName, tellState, trialName } from '../../ui/page/tell.ts';
import { loops, makeBench } from './support.ts';

const matched: MatchState = { kind: 'matched', inGainDb: -1.84, outGainDb: 0, residualDb: 0.02, waitsForSwitch: false };

/** The bench laid down in I, another value laid down in II, a third one on the bench. */
function withTwoDrafts() {
  const made = makeBench();
  const { bench, set } = made;
  bench.dispatch({ kind: 'lay-down', draft: 'I' });
  set('step', 12);
  bench.dispatch({ kind: 'rename', title: 'softer' });
  bench.dispatch({ kind: 'lay-down', draft: 'II' });
  set('step', 15);
  return made;
}

describe('drafts', () => {
  it('hold the whole setting as it was laid down, with its date', () => {
    const { bench, value } = withTwoDrafts();
    const { drafts } = bench.state.session;
    expect([drafts.I?.laidDown, drafts.I?.setting.title, drafts.II?.setting.title, drafts.III]).toEqual(['2026-11-25', openingSetting().title, 'softer', null]);
    expect(drafts.II!.setting.path.stages.find(({ key }) => key === 's2')!.values['emitterOhms']).toBe(12);
    expect(value('s2', 'emitterOhms')).toBe(15);
  });

  it('are taken up in one step, which undo takes back; what was frozen stays so', () => {
    const { bench } = withTwoDrafts();
    const before = bench.state.setting;
    const { frozen } = bench;
    bench.dispatch({ kind: 'take-up', draft: 'I' });
    expect(bench.state.setting).toBe(bench.state.session.drafts.I!.setting);
    expect([bench.state.live.changedSinceFrozen, bench.frozen]).toEqual([false, frozen]);
    bench.dispatch({ kind: 'undo' });
    expect(writeSetting(bench.state.setting)).toBe(writeSetting(before));
    expect(bench.state.live.message?.text).toContain('undone, setting softer');
    bench.dispatch({ kind: 'redo' });
    expect(bench.state.setting.title).toBe(openingSetting().title);
    bench.dispatch({ kind: 'take-up', draft: 'IV' });
    expect(bench.state.live.message?.text).toBe('Draft IV is empty.');
  });

  it('are renamed and cleared, without a step to undo', () => {
    const { bench, undoDepth } = makeBench();
    bench.dispatch({ kind: 'lay-down', draft: 'III' });
    bench.dispatch({ kind: 'rename-draft', draft: 'III', title: '  brighter ' });
    bench.dispatch({ kind: 'rename-draft', draft: 'III', title: '   ' });
    expect(bench.state.session.drafts.III?.setting.title).toBe('brighter');
    bench.dispatch({ kind: 'clear-draft', draft: 'III' });
    expect(bench.state.session.drafts).toEqual(noDrafts);
    expect(undoDepth()).toBe(0);
  });
});

describe('a pair on trial', () => {
  it('is two sides with their names, the first one heard', () => {
    const { bench } = withTwoDrafts();
    bench.dispatch({ kind: 'switch', trialIn: false });
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'I', out: 'II' } });
    const { state } = bench;
    expect([state.live.trialIn, state.live.match.kind, inName(state), outName(state), trialName(state)]).toEqual([true, 'stale', 'draft I', 'draft II', 'draft I against draft II']);
    expect(tellState(state)).toMatch(/^draft I, draft I against draft II on trial, /);
    expect(pairAsked(state)!.map(({ path }) => path)).toEqual([state.session.drafts.I!.setting.path, state.session.drafts.II!.setting.path]);
    expect(state.live.message?.text).toBe('on trial: draft I against draft II; the bench is not heard');
    // Asked for again it changes nothing; the other way about it is another.
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'I', out: 'II' } });
    expect(bench.state).toBe(state);
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'II', out: 'I' } });
    expect(inName(bench.state)).toBe('draft II');
  });

  it('is not one with an empty or a twofold side', () => {
    const { bench } = withTwoDrafts();
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'I', out: 'III' } });
    expect([bench.state.session.pair, bench.state.live.message?.text]).toEqual([null, 'Draft III is empty: lay the bench down in it first.']);
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'II', out: 'II' } });
    expect(bench.state.session.pair).toBeNull();
    expect(pairsAtHand(bench.state)).toEqual([{ in: 'bench', out: 'I' }, { in: 'bench', out: 'II' }, { in: 'I', out: 'II' }]);
    expect(pairsAtHand(makeBench().bench.state)).toEqual([]);
  });

  it('is one thing on trial: another takes its place', () => {
    const { bench } = withTwoDrafts();
    bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'stage', key: 's2' } });
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'bench', out: 'II' } });
    expect(bench.state.session.onTrial).toEqual({ kind: 'path' });
    bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'stage', key: 's1' } });
    expect([bench.state.session.pair, trialName(bench.state)]).toEqual([null, '1 single-ended']);
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'bench', out: 'II' } });
    bench.dispatch({ kind: 'clear-draft', draft: 'II' });
    expect([bench.state.session.pair, trialName(bench.state)]).toEqual([null, 'whole path']);
  });

  it('keeps its match while the bench is dialled, if the bench is no side of it', () => {
    const { bench, set } = withTwoDrafts();
    const told = () => bench.dispatch({ kind: 'matched', revision: bench.state.live.revision, match: matched });
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'I', out: 'II' } });
    told();
    const asked = bench.state;
    set('step', 18);
    expect([bench.state.live.match.kind, hearsBench(bench.state.session), samePair(asked, bench.state)]).toEqual(['matched', false, true]);
    // Also where the answer was under way; but not one of before.
    bench.dispatch({ kind: 'matched', revision: bench.state.live.revision - 1, match: { kind: 'measuring' } });
    expect(bench.state.live.match.kind).toBe('measuring');
    bench.dispatch({ kind: 'matched', revision: bench.state.live.revision - 2, match: matched });
    expect(bench.state.live.match.kind).toBe('measuring');
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'bench', out: 'II' } });
    told();
    const heard = bench.state;
    set('step', 20);
    expect([bench.state.live.match.kind, samePair(heard, bench.state)]).toEqual(['stale', false]);
    told();
    bench.dispatch({ kind: 'lay-down', draft: 'II' });
    expect(bench.state.live.match.kind).toBe('stale');
  });

  it('leaves no match in the setting: a file holds one path', () => {
    const { bench } = withTwoDrafts();
    const stored = bench.state.setting.levelMatch;
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'I', out: 'II' } });
    bench.dispatch({ kind: 'matched', revision: bench.state.live.revision, match: matched });
    expect(bench.state.live.match).toEqual(matched);
    expect(bench.state.setting.levelMatch).toBe(stored);
  });

  it('outlives thaw, taking up, undo and the removal of stages, and the side that is heard stays', () => {
    const { bench } = withTwoDrafts();
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'I', out: 'II' } });
    bench.dispatch({ kind: 'switch', trialIn: false });
    bench.dispatch({ kind: 'thaw', text: writeSetting({ ...openingSetting(), title: 'from elsewhere' }), fileName: 'a.json' });
    bench.dispatch({ kind: 'take-up', draft: 'II' });
    bench.dispatch({ kind: 'remove-stage', stageKey: bench.state.setting.path.stages[0]!.key });
    bench.dispatch({ kind: 'undo' });
    expect([bench.state.session.pair, bench.state.live.trialIn]).toEqual([{ in: 'I', out: 'II' }, false]);
  });
});

describe('stored drafts', () => {
  it('come back with the pair on trial', () => {
    const { bench } = withTwoDrafts();
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'II', out: 'bench' } });
    const { state } = restoreAutosave(writeAutosave(bench.state, bench.frozen), loops, null, writeDrafts(bench.state.session.drafts));
    expect(state.session.pair).toEqual({ in: 'II', out: 'bench' });
    expect(writeSetting(state.session.drafts.II!.setting)).toBe(writeSetting(bench.state.session.drafts.II!.setting));
    expect(state.session.drafts.II?.laidDown).toBe('2026-11-25');
    // Without the drafts there is no pair.
    expect(restoreAutosave(writeAutosave(bench.state, bench.frozen), loops).state.session.pair).toBeNull();
    expect(writeAutosave(bench.state, bench.frozen)).not.toContain('laidDown');
  });

  it('that cannot be read are empty, each by itself', () => {
    const warned = vi.spyOn(console, 'warn').mockImplementation(() => undefined);
    const { I } = withTwoDrafts().bench.state.session.drafts;
    const good = JSON.parse(writeDrafts({ ...noDrafts, I, II: I })) as { drafts: Record<string, { setting: string }> };
    good.drafts['I']!.setting = good.drafts['I']!.setting.slice(0, 200);
    expect(readDrafts(JSON.stringify(good)).II?.setting.title).toBe(I!.setting.title);
    for (const text of ['', '[]', '{}', 'null', '{"version":2,"drafts":{}}', JSON.stringify({ version: 1, drafts: { I: 3, II: { setting: 4 } } })]) expect(readDrafts(text), text).toEqual(noDrafts);
    expect(readDrafts(JSON.stringify(good)).I).toBeNull();
    warned.mockRestore();
  });
});
