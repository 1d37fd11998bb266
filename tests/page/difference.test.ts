/** Hearing only what is added: what the listener asks for, what is known, and the words for both; and the words of what a match leaves. */
import { describe, expect, it } from 'vitest';
import type { MatchDifferences } from '../../dsp/measure/index.ts';
import { differenceNote, differenceSentence } from '../../ui/page/difference-words.ts';
import { differencesWords } from '../../ui/page/match-words.ts';
import { differenceSounds, raiseInForce } from '../../ui/page/reduce-difference.ts';
import { tellState } from '../../ui/page/tell.ts';
import { makeBench } from './support.ts';

const levels = { belowDb: -44.2, chosenDb: 38, mostDb: 44 };

describe('hearing only what is added', () => {
  it('is wanted, measured, raised as the bench chose, and said in words', () => {
    const { bench } = makeBench();
    const live = () => bench.state.live;
    expect(differenceSentence(bench.state)).toBeNull();
    bench.dispatch({ kind: 'hear-difference', heard: true });
    expect(differenceSentence(bench.state)).toBe('Difference: what the whole path adds, measured in a moment; until then the path is heard.');
    expect(differenceSounds(bench.state)).toBe(false);
    bench.dispatch({ kind: 'difference-measuring', done: 0.426 });
    expect(differenceNote(bench.state)).toBe('measuring 42 %');
    bench.dispatch({ kind: 'difference-found', levels });
    expect(differenceSounds(bench.state)).toBe(true);
    expect(differenceSentence(bench.state)).toBe('Difference: what the whole path adds, raised by 38 dB.');
    expect(tellState(bench.state)).toContain('its difference is heard, raised by 38 dB');
    bench.dispatch({ kind: 'difference-stale', keep: true });
    expect(differenceSentence(bench.state)).toBe('Difference: what the whole path adds, raised by 38 dB, of before the last change.');
    bench.dispatch({ kind: 'difference-stale', keep: false });
    expect(live().difference).toMatchObject({ heard: true, levels: null, phase: { kind: 'none' } });
  });

  it('is raised by steps, never louder than the programme, and a step beyond is no step to take back', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'hear-difference', heard: true });
    bench.dispatch({ kind: 'difference-found', levels });
    const raise = () => raiseInForce(bench.state.live.difference);
    for (let k = 0; k < 20; k += 1) bench.dispatch({ kind: 'raise-difference', stepDb: 1 });
    expect(raise()).toBe(44);
    bench.dispatch({ kind: 'raise-difference', stepDb: -1 });
    expect(raise()).toBe(43);
    for (let k = 0; k < 100; k += 1) bench.dispatch({ kind: 'raise-difference', stepDb: -1 });
    expect(raise()).toBe(-20);
    // A new measurement keeps the listener's own step, within what it allows.
    bench.dispatch({ kind: 'difference-found', levels: { belowDb: -20, chosenDb: 14, mostDb: 20 } });
    expect(raise()).toBe(-20);
    bench.dispatch({ kind: 'raise-difference', stepDb: 1 });
    expect(raise()).toBe(-19);
  });

  it('ends with a switch, a tone and a blind comparison, in which it cannot be asked for', () => {
    for (const ending of [{ kind: 'switch', trialIn: false }, { kind: 'blind-setup', seed: 1 }] as const) {
      const { bench } = makeBench();
      bench.dispatch({ kind: 'hear-difference', heard: true });
      bench.dispatch({ kind: 'difference-found', levels });
      bench.dispatch(ending);
      expect(bench.state.live.difference.heard).toBe(false);
      if (ending.kind === 'switch') continue;
      bench.dispatch({ kind: 'hear-difference', heard: true });
      expect(bench.state.live.difference.heard).toBe(false);
    }
  });

  it('says what there is where nothing can be heard', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'hear-difference', heard: true });
    bench.dispatch({ kind: 'difference-found', levels: null });
    expect(differenceSentence(bench.state)).toBe('Difference: nothing. What the whole path adds lies 120 dB or more under the programme; the path is heard.');
    bench.dispatch({ kind: 'difference-refused', why: 'choose a region of 60 s or less.' });
    expect([differenceNote(bench.state), differenceSounds(bench.state)]).toEqual(['not to be had', false]);
    expect(bench.state.live.message?.text).toBe('The difference cannot be heard: choose a region of 60 s or less. The path is heard.');
    bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'stage', key: 's2' } });
    bench.dispatch({ kind: 'difference-found', levels });
    expect(differenceSentence(bench.state)).toBe('Difference: what 2 push-pull adds, raised by 38 dB.');
    const { state } = bench;
    expect(differenceSentence({ ...state, session: { ...state.session, pair: { in: 'bench', out: 'II' } } })).toBe('Difference: what bench adds less what draft II adds, raised by 38 dB.');
  });
});

describe('what a match leaves', () => {
  const differences = (differenceDb: number | null): MatchDifferences => ({ rmsDb: -0.31, truePeakDb: 0.4, bands: [{ nominalHz: 80, inDb: -30, outDb: -31.8, differenceDb }, { nominalHz: 3150, inDb: -30, outDb: -30, differenceDb: 0.2 }] });
  it.each<[number | null, string]>([
    [1.84, 'RMS 0.3 dB, 80 Hz +1.8 dB apart'], [-0.96, 'RMS 0.3 dB, 80 Hz −1.0 dB apart'], [null, 'RMS 0.3 dB, 3.15 kHz +0.2 dB apart'],
    [Infinity, 'RMS 0.3 dB apart, 80 Hz only in the first'],
  ])('is one sentence, of %s dB', (db, words) => {
    expect(differencesWords(differences(db))).toBe(words);
  });
});
