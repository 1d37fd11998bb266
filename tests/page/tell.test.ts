import { describe, expect, it } from 'vitest';
import { findValues } from '../../ui/page/find-value.ts';
import { readSession, writeSession } from '../../ui/page/session-text.ts';
import { tellHarmonics, tellState } from '../../ui/page/tell.ts';
import { harmonicsAt, loops, makeBench } from './support.ts';

describe('telling the state', () => {
  it('says where one listens, what is on trial, the match, the level', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'play' });
    bench.dispatch({ kind: 'matched', revision: 1, match: { kind: 'matched', inGainDb: -1.84, outGainDb: 0, residualDb: -0.02, waitsForSwitch: false } });
    expect(tellState(bench.state)).toBe('in circuit, whole path on trial, matched, 0.02 decibel left, monitor minus 20');
    bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'stage', key: 's2' } });
    bench.dispatch({ kind: 'switch', trialIn: false });
    bench.dispatch({ kind: 'silence' });
    expect(tellState(bench.state)).toBe('out of circuit, 2 push-pull on trial, match stale since a change, monitor minus 20, silent');
  });

  it('names a mechanism on trial and its stage; out, the path plays without it', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'without', key: 's2', mechanism: 'crossover' } });
    expect(tellState(bench.state)).toContain('in circuit, whole path, without crossover of the output pair of stage 2 on trial');
    bench.dispatch({ kind: 'switch', trialIn: false });
    expect(tellState(bench.state)).toContain('without it, ');
    expect(bench.state.setting.path.stages[1]!.inCircuit).toBe(true);
    const { session, setting } = bench.state;
    expect(readSession(JSON.parse(JSON.stringify(writeSession(session, setting))), setting, session, loops).onTrial).toEqual(session.onTrial);
  });

  it('goes to the state line on T', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'tell', what: 'state' });
    expect(bench.state.live.message?.text).toBe(tellState(bench.state));
  });
});

describe('telling the harmonics', () => {
  it('names every order, the worst harsh one, and what was measured', () => {
    const { bench, set } = makeBench();
    expect(tellHarmonics(bench.state)).toBe('no harmonics measured yet');
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
    expect(tellHarmonics(bench.state)).toBe('H2 minus 60, H3 minus 70, H4 minus 80, H5 minus 90, H6 minus 100, H7 minus 110, H8 minus 120, H9 under minus 160, worst harsh H5, whole path, 200 hertz at plus 4 dBu');
    set('step', 12);
    expect(tellHarmonics(bench.state)).toMatch(/^updating, /);
  });

  it('repeats why there are none', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60, { figures: [], refusal: 'oscillates or bistable' }) });
    expect(tellHarmonics(bench.state)).toBe('oscillates or bistable');
  });
});

describe('finding a value', () => {
  const { bench } = makeBench();
  const first = (text: string, open = 's2') => {
    const [found] = findValues(bench.state.setting, open, text);
    return found ? `${found.place} ${found.parameter.id}` : null;
  };

  it.each([['RE', '2 emitterOhms'], ['r e', '2 emitterOhms'], ['quiescent', '2 quiescentAmperes'], ['quiescent current', '2 quiescentAmperes'], ['IQ', '2 quiescentAmperes'],
    ['q 1 beta', '2 forwardBeta'], ['Q1 β', '2 forwardBeta'], ['beta2/beta1', '2 betaRatio'], ['xyzzy', null], [' ', null]])('%s', (text, found) => {
    expect(first(text)).toBe(found);
  });

  it('prefers the open stage, and reaches the others', () => {
    expect(first('RL', 's1')).toMatch(/^1 /);
    expect(first('RL', 's2')).toMatch(/^2 /);
    expect(first('IQ', 's1')).toBe('2 quiescentAmperes');
  });
});
