import { describe, expect, it } from 'vitest';
import { sittingSides } from '../../dsp/listening/index.ts';
import { parseLongListening, writeLongListening } from '../../dsp/setting/index.ts';
import { openingHindrance, planHindrance, sittingHindrance } from '../../ui/page/reduce-sitting.ts';
import type { WrittenLog } from '../../ui/page/sitting-state.ts';
import type { MatchState, ProgrammeFacts } from '../../ui/page/state.ts';
import { makeBench } from './support.ts';

const programme: ProgrammeFacts = {
  title: 'piano, decaying notes', rateHz: 48_000, channels: 1, frames: 384_000, onBench: { startFrame: 0, endFrame: 384_000 }, encoding: 'pcm24', origin: 'demo', readBy: 'bench', sha256: 'a'.repeat(64), trimDb: 0,
};
const written: WrittenLog = { ease: 5, fatigue: 2, believed: 0, noIdea: false, words: 'calm' };

/** `concealed`: the blind worker answers at once. */
function aBench(residualDb = 0.02, concealed = true) {
  const { bench } = makeBench();
  bench.subscribe((_before, _after, { kind }) => { if (kind === 'sitting-open' && concealed) bench.dispatch({ kind: 'sitting-concealed', concealment: { kind: 'stands' } }); });
  const matched = (inGainDb = -1.84) => {
    const { revision } = bench.state.live;
    bench.dispatch({ kind: 'sounding', revision });
    bench.dispatch({ kind: 'matched', revision, match: { kind: 'matched', inGainDb, outGainDb: 0, residualDb, waitsForSwitch: false } as unknown as MatchState });
  };
  bench.dispatch({ kind: 'programme', programme });
  bench.dispatch({ kind: 'rename', title: 'as planned' });
  matched();
  const long = () => bench.state.live.long;
  const plan = (pairs = 2) => {
    bench.dispatch({ kind: 'long-choice', choice: { pairs, question: 'ease', significance: 0.05 } });
    bench.dispatch({ kind: 'long-plan', id: 'a1', seed: 12, date: '2026-11-01' });
  };
  const sit = (log: WrittenLog = written, day = '02') => {
    bench.dispatch({ kind: 'sitting-open', id: 'a1' });
    matched();
    bench.dispatch({ kind: 'sitting-play', now: `2026-11-${day}T20:15` });
    bench.dispatch({ kind: 'sitting-heard', seconds: 7.94 });
    bench.dispatch({ kind: 'sitting-over' });
    bench.dispatch({ kind: 'sitting-log', log, date: `2026-11-${day}` });
  };
  return { bench, long, plan, sit, matched };
}

describe('what else could sound', () => {
  it('gives way to a sitting, and cannot be asked for in one', () => {
    const { bench, plan } = aBench();
    plan();
    bench.dispatch({ kind: 'hear-difference', heard: true });
    bench.dispatch({ kind: 'sitting-open', id: 'a1' });
    expect(bench.state.live.difference.heard).toBe(false);
    bench.dispatch({ kind: 'hear-difference', heard: true });
    bench.dispatch({ kind: 'input-ask' });
    expect([bench.state.live.difference.heard, bench.state.live.input.phase]).toEqual([false, 'closed']);
  });
});

describe('a plan', () => {
  it('holds what is on trial, its gains and its programme as they are', () => {
    const { bench, long, plan } = aBench();
    expect(planHindrance(bench.state)).toBeNull();
    plan();
    const { listening } = long().listenings[0]!;
    expect(listening).toMatchObject({
      date: '2026-11-01', plan: { pairs: 2, question: 'ease', seed: 12 }, sittings: [], ended: null,
      compared: { what: 'whole path', names: ['in circuit', 'out of circuit'], onTrial: 'path', levelMatch: { inGainDb: -1.84, residualDb: 0.02 }, programme: { title: 'piano, decaying notes' } },
    });
    expect(listening.compared.setting.setting.title).toBe('as planned');
    expect(parseLongListening(writeLongListening(listening)).disagreements).toEqual([]);
  });

  it('is not made where level could tell the two apart, nor of a number that is none', () => {
    const { bench, long, plan } = aBench(0.15);
    expect(planHindrance(bench.state)).toContain('0.15 dB are left between the two after matching');
    plan();
    expect(long().listenings).toEqual([]);
    const other = aBench();
    other.bench.dispatch({ kind: 'long-choice', choice: { pairs: NaN, question: 'ease', significance: 0.05 } });
    expect(planHindrance(other.bench.state)).toBe('pairs: expected a whole number from 1 to 1000, got NaN');
  });

  it('of a pair holds both settings, and lends the second as a draft for the sitting alone', () => {
    const { bench, long, plan, matched } = aBench();
    bench.dispatch({ kind: 'lay-down', draft: 'III' });
    bench.dispatch({ kind: 'rename', title: 'the other one' });
    bench.dispatch({ kind: 'pair-on-trial', pair: { in: 'III', out: 'bench' } });
    matched();
    plan();
    const { compared } = long().listenings[0]!.listening;
    expect([compared.onTrial, compared.names, compared.setting.setting.title, compared.secondSetting?.setting.title]).toEqual(['pair', ['draft III', 'bench'], 'as planned', 'the other one']);
    bench.dispatch({ kind: 'pair-on-trial', pair: null });
    const before = bench.state.session;
    bench.dispatch({ kind: 'sitting-open', id: 'a1' });
    expect(bench.state.session.pair).toEqual({ in: 'bench', out: 'II' });
    expect(bench.state.session.drafts.II?.setting.title).toBe('the other one');
    expect(bench.state.setting.title).toBe('as planned');
    bench.dispatch({ kind: 'sitting-leave' });
    expect(bench.state.session).toEqual(before);
  });
});

describe('a sitting', () => {
  it('lends the bench what the plan was made of, and puts back what lay there, out of the history', () => {
    const { bench, long, plan, sit } = aBench();
    plan();
    bench.dispatch({ kind: 'rename', title: 'something new' });
    bench.dispatch({ kind: 'region', region: { startSeconds: 1, endSeconds: 2 } });
    bench.dispatch({ kind: 'switch', trialIn: false });
    const { setting, session } = bench.state;
    bench.dispatch({ kind: 'sitting-open', id: 'a1' });
    expect(bench.state.setting.title).toBe('as planned');
    expect(bench.state.session.region).toBeNull();
    expect(bench.state.live.wholePage).toBe('sitting');
    expect(bench.state.live.match.kind).toBe('stale');
    bench.dispatch({ kind: 'sitting-leave' });
    expect(bench.state.setting).toBe(setting);
    expect(bench.state.session).toEqual(session);
    expect(bench.state.live).toMatchObject({ wholePage: null, shelf: 'listening', trialIn: false, playing: false });
    sit();
    expect(bench.state.setting.title).toBe('something new');
    expect(long().listenings[0]!.listening.sittings).toEqual([{ began: '2026-11-02T20:15', heardSeconds: 7.9, toTheEnd: true, ...written }]);
    bench.dispatch({ kind: 'undo' });
    expect(bench.state.setting.title).toBe('as planned');
  });

  it('of a listening that was taken from a file stands in the place of the one that had come less far; none is taken while one is open', () => {
    const { bench, long, plan, sit } = aBench();
    plan();
    const early = long().listenings[0]!.listening;
    sit();
    const later = long().listenings[0]!.listening;
    const take = (listening: typeof later, id = 'a1') => bench.dispatch({ kind: 'long-take', id, listening });
    take(early);
    expect(long().listenings.map(({ listening }) => listening.sittings.length), 'one that had come less far').toEqual([1]);
    const further = { ...later, sittings: [...later.sittings, ...later.sittings] };
    take(further);
    expect(long().listenings.map(({ listening }) => listening.sittings.length)).toEqual([2]);
    take(early, 'b2');
    expect(long().listenings.map(({ id }) => id)).toEqual(['b2', 'a1']);
    bench.dispatch({ kind: 'sitting-open', id: 'b2' });
    expect(long().sitting).toMatchObject({ id: 'b2', phase: 'ready', toTheEnd: false, leaving: false });
    const { state } = bench;
    take(further, 'c3');
    expect(bench.state).toBe(state);
  });

  it('of a file of the listener’s own is opened once that file is on the bench', () => {
    const { bench, long, plan } = aBench();
    plan();
    const { compared, ...rest } = long().listenings[0]!.listening;
    const own = { ...rest, compared: { ...compared, programme: { ...compared.programme!, identifier: 'file:0123456789abcdef', title: 'rehearsal.wav' } } };
    expect(openingHindrance(bench.state, own)).toBe('Open the file “rehearsal.wav” first: the bench keeps no recordings.');
    const onBench = { ...bench.state, session: { ...bench.state.session, loop: 'file:0123456789abcdef' } };
    expect(openingHindrance(onBench, own)).toBeNull();
    expect(openingHindrance(bench.state, long().listenings[0]!.listening)).toBeNull();
  });

  it('begins only when programme, circuit and match are there, and match as they did', () => {
    const { bench, plan, matched } = aBench();
    plan();
    bench.dispatch({ kind: 'sitting-open', id: 'a1' });
    expect(sittingHindrance(bench.state)).toBe('The level match is being measured; wait a moment.');
    bench.dispatch({ kind: 'sitting-play', now: '2026-11-02T20:15' });
    expect(bench.state.live).toMatchObject({ playing: false, long: { sitting: { phase: 'ready', began: null } } });
    matched(-2.1);
    expect(sittingHindrance(bench.state)).toContain('The level match has moved by 0.26 dB since the plan was made');
    matched(-1.84);
    expect(sittingHindrance(bench.state)).toBeNull();
    bench.dispatch({ kind: 'programme', programme: { ...programme, trimDb: -3 } });
    expect(sittingHindrance(bench.state)).toContain('not turned down as it was then');
  });

  it('is not heard before its side is concealed, nor when it cannot be', () => {
    const { bench, long, plan, matched } = aBench(0.02, false);
    const play = () => bench.dispatch({ kind: 'sitting-play', now: '2026-11-02T20:15' });
    plan();
    bench.dispatch({ kind: 'sitting-open', id: 'a1' });
    matched();
    expect(sittingHindrance(bench.state)).toBe('The side is being chosen; wait a moment.');
    play();
    expect(bench.state.live).toMatchObject({ playing: false, long: { sitting: { phase: 'ready', began: null } } });
    bench.dispatch({ kind: 'sitting-concealed', concealment: { kind: 'stands' } });
    play();
    expect(bench.state.live.playing).toBe(true);
    bench.dispatch({ kind: 'sitting-concealed', concealment: { kind: 'failed', why: 'its worker stopped' } });
    expect(sittingHindrance(bench.state)).toBe('The side could not be concealed: its worker stopped. Leave the sitting and open it again.');
    play();
    expect([bench.state.live.playing, long().sitting?.phase]).toEqual([false, 'hearing']);
  });

  it('may be paused, gone on with, ended before the end; left after sound it asks, and is counted', () => {
    const { bench, long, plan, matched } = aBench();
    plan();
    bench.dispatch({ kind: 'sitting-open', id: 'a1' });
    matched();
    bench.dispatch({ kind: 'sitting-play', now: '2026-11-02T20:15' });
    bench.dispatch({ kind: 'pause' });
    bench.dispatch({ kind: 'sitting-play', now: '2026-11-02T20:40' });
    expect(long().sitting).toMatchObject({ phase: 'hearing', began: '2026-11-02T20:15' });
    bench.dispatch({ kind: 'sitting-finish' });
    expect(bench.state.live.playing).toBe(false);
    bench.dispatch({ kind: 'sitting-back' });
    expect(long().sitting).toMatchObject({ phase: 'hearing', toTheEnd: false });
    // What takes the whole page is left by its own words alone.
    bench.dispatch({ kind: 'whole-page', page: null });
    expect(bench.state.live.wholePage).toBe('sitting');
    bench.dispatch({ kind: 'sitting-leave' });
    expect(long().sitting).toMatchObject({ leaving: true });
    bench.dispatch({ kind: 'sitting-stay' });
    bench.dispatch({ kind: 'sitting-leave' });
    bench.dispatch({ kind: 'sitting-drop' });
    expect(long()).toMatchObject({ sitting: null, listenings: [{ listening: { sittings: [], brokenOff: 1 } }] });
  });

  it('after the last one the sides are revealed; nothing of them is in the state before', () => {
    const { long, plan, sit } = aBench();
    plan(1);
    sit({ ...written, believed: sittingSides({ pairs: 1, question: 'ease', significance: 0.05, seed: 12 })[0]! });
    expect(long().listenings[0]!.listening.ended).toBeNull();
    expect(JSON.stringify(long())).not.toMatch(/"(side|sides|trialIn|was)":/);
    sit(written, '03');
    expect(long().listenings[0]!.listening).toMatchObject({ ended: '2026-11-03' });
    sit(written, '04');
    expect(long().listenings[0]!.listening.sittings).toHaveLength(2);
  });

  it('ended early says so', () => {
    const { bench, long, plan, sit } = aBench();
    plan();
    sit();
    bench.dispatch({ kind: 'long-ask-end', id: 'a1' });
    expect(long().ending).toBe('a1');
    bench.dispatch({ kind: 'long-end', id: 'a1', date: '2026-11-05' });
    expect(long()).toMatchObject({ ending: null, listenings: [{ listening: { ended: '2026-11-05' } }] });
    expect(JSON.parse(writeLongListening(long().listenings[0]!.listening))).toMatchObject({ result: { stopped: true, sittings: 1, planned: 4 } });
  });
});
