import { describe, expect, it } from 'vitest';
import { blindResult, BlindSession, oneGain } from '../../dsp/listening/index.ts';
import { parseBlindComparison } from '../../dsp/setting/index.ts';
import { writeBlindRecord } from '../../ui/page/blind-record.ts';
import type { ExcerptMatch } from '../../ui/page/blind-state.ts';
import { blindHindrance, excerptHeard, mayAnswer } from '../../ui/page/reduce-blind.ts';
import { makeBench } from './support.ts';

function atSetup(parts: readonly (readonly [number, number])[]) {
  const { bench } = makeBench();
  for (const [startSeconds, endSeconds] of parts) {
    bench.dispatch({ kind: 'region', region: { startSeconds, endSeconds } });
    bench.dispatch({ kind: 'add-excerpt' });
  }
  bench.dispatch({ kind: 'matched', revision: bench.state.live.revision, match: { kind: 'matched', inGainDb: -1, outGainDb: 0, residualDb: 0.02, waitsForSwitch: false } as never });
  bench.dispatch({ kind: 'blind-setup', seed: 5 });
  const blind = () => bench.state.live.blind!;
  const hindrance = () => blindHindrance({ ...bench.state.live, loopLoaded: true, excerptMatch: (blind() as { excerptMatch: ExcerptMatch }).excerptMatch });
  const matched = (...needed: number[]) => bench.dispatch({ kind: 'excerpts-matched', excerpts: bench.state.live.excerpts, match: { kind: 'matched', ...oneGain(needed.map((inGainDb) => ({ inGainDb, outGainDb: 0 }))) } });
  return { bench, blind, hindrance, matched };
}

describe('what is heard', () => {
  it('before the worker has told how far the comparison is sounds on, at the beginning and after an answer', () => {
    const { bench, blind } = atSetup([]);
    bench.dispatch({ kind: 'blind-begin' });
    bench.dispatch({ kind: 'blind-hear', token: 'A' });
    bench.dispatch({ kind: 'blind-told', progress: { phase: 'training', number: 1, of: 3 }, truth: null });
    expect([blind(), bench.state.live.playing]).toMatchObject([{ token: 'A', progress: { of: 3 } }, true]);
    bench.dispatch({ kind: 'blind-answer', answer: 1 });
    expect([blind(), bench.state.live.playing]).toMatchObject([{ token: null }, false]);
    // A second press of the same key is no answer to the next trial, of which nothing was heard.
    expect(mayAnswer(bench.state)).toBe(false);
    bench.dispatch({ kind: 'blind-hear', token: 'B' });
    bench.dispatch({ kind: 'blind-told', progress: { phase: 'training', number: 2, of: 3 }, truth: 'A' });
    expect([blind(), bench.state.live.playing]).toMatchObject([{ token: 'B', truth: 'A', progress: { number: 2 } }, true]);
  });
});

describe('excerpts', () => {
  it('are listed from the region, named, removed, and forgotten with their loop', () => {
    const { bench } = atSetup([[0.5, 1], [2, 3]]);
    bench.dispatch({ kind: 'name-excerpt', index: 1, name: 'last chord' });
    expect(bench.state.live.excerpts).toEqual([{ name: '', startSeconds: 0.5, endSeconds: 1 }, { name: 'last chord', startSeconds: 2, endSeconds: 3 }]);
    bench.dispatch({ kind: 'remove-excerpt', index: 0 });
    expect(bench.state.live.excerpts).toHaveLength(1);
    bench.dispatch({ kind: 'loop', loop: 'piano' });
    expect(bench.state.live.excerpts).toHaveLength(1);
    bench.dispatch({ kind: 'loop', loop: 'clarinet' });
    expect(bench.state.live.excerpts).toEqual([]);
    for (let count = 0; count < 20; count += 1) {
      bench.dispatch({ kind: 'region', region: { startSeconds: 0, endSeconds: 1 } });
      bench.dispatch({ kind: 'add-excerpt' });
    }
    expect(bench.state.live.excerpts).toHaveLength(12);
  });

  it('are measured before it begins; more than 0.1 dB left in one of them is refused, with what to do', () => {
    const { bench, blind, hindrance, matched } = atSetup([[0.5, 1], [2, 3]]);
    expect(hindrance()).toBe('The levels of the excerpts are being measured; wait a moment.');
    matched(-2, -2.3);
    expect(hindrance()).toBe('Under one gain for all of them 0.15 dB are left in excerpt 1, more than 0.1 dB: level alone could tell the two apart there. No single gain does better; remove an excerpt, or compare it by itself.');
    bench.dispatch({ kind: 'remove-excerpt', index: 0 });
    expect(hindrance()).toBe('The levels of the excerpts are being measured; wait a moment.');
    // An answer about the list as it was before is none about this one.
    bench.dispatch({ kind: 'excerpts-matched', excerpts: [{ name: '', startSeconds: 0.5, endSeconds: 1 }, { name: '', startSeconds: 2, endSeconds: 3 }], match: { kind: 'matched', ...oneGain([{ inGainDb: -2, outGainDb: 0 }]) } });
    expect(blind()).toMatchObject({ excerptMatch: { kind: 'measuring' } });
    matched(-2.3);
    expect(hindrance()).toBeNull();
    bench.dispatch({ kind: 'remove-excerpt', index: 0 });
    expect(blind()).toMatchObject({ excerptMatch: { kind: 'none' } });
    expect(hindrance()).toBeNull();
  });

  it('are chosen among while it runs, whatever token sounds, and nowhere else', () => {
    const { bench, matched } = atSetup([[0.5, 1], [2, 3]]);
    matched(-2, -2.1);
    expect(excerptHeard(bench.state)).toBeNull();
    bench.dispatch({ kind: 'blind-begin' });
    expect(excerptHeard(bench.state)).toMatchObject({ startSeconds: 0.5 });
    bench.dispatch({ kind: 'blind-excerpt', excerpt: 2 });
    bench.dispatch({ kind: 'blind-hear', token: 'X' });
    expect(excerptHeard(bench.state)).toMatchObject({ startSeconds: 2 });
    bench.dispatch({ kind: 'blind-excerpt', excerpt: 3 });
    expect(excerptHeard(bench.state)).toMatchObject({ startSeconds: 2 });
    // The list is settled once it has begun, and the match does not go stale.
    bench.dispatch({ kind: 'add-excerpt' });
    expect(bench.state.live.excerpts).toHaveLength(2);
    expect(bench.state.live.match.kind).toBe('matched');
  });
});

describe('the record', () => {
  it('of a comparison with excerpts agrees with itself, gains and residuals included', () => {
    const { bench, matched, blind } = atSetup([[0.5, 1], [2, 3]]);
    bench.dispatch({ kind: 'name-excerpt', index: 0, name: 'attack' });
    matched(-2, -2.1);
    bench.dispatch({ kind: 'blind-plan', plan: { task: 'identify', length: { kind: 'fixed', trials: 4, significance: 0.1 }, nullShare: 0, training: 0, seed: 5 } });
    bench.dispatch({ kind: 'blind-begin' });
    const running = blind();
    if (running.kind !== 'running') throw new Error(running.kind);
    const { plan } = running;
    const session = new BlindSession(plan, 2);
    while (session.progress.phase !== 'ended') session.answer(session.hear('X') === session.hear('A') ? 1 : 2);
    const answered = session.ended()!;
    bench.dispatch({ kind: 'blind-record', record: { plan, ...answered, result: blindResult(plan, answered) } });
    const ended = blind();
    if (ended.kind !== 'ended') throw new Error(ended.kind);
    const { comparison, disagreements, result } = parseBlindComparison(writeBlindRecord(bench.state, ended, '2026-11-26')!);
    expect(disagreements).toEqual([]);
    expect(comparison.excerpts.map(({ name, residualDb }) => [name, Math.round(1000 * residualDb)])).toEqual([['attack', -50], ['', 50]]);
    expect(comparison.compared.levelMatch.inGainDb).toBeCloseTo(-2.05, 12);
    expect(comparison.compared).toMatchObject({ what: 'whole path', names: ['in circuit', 'out of circuit'], onTrial: 'path' });
    expect(result).toMatchObject({ hits: 4, trials: 4 });
  });
});
