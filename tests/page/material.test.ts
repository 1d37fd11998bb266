import { describe, expect, it } from 'vitest';
import { openingState } from '../../ui/page/opening.ts';
import { advance, reduce } from '../../ui/page/bench.ts';
import { emptyHistory } from '../../ui/page/history.ts';
import { holds, windowRound } from '../../ui/page/bench-window.ts';
import { isMaterialId, materialIdOf, readMaterialRecord } from '../../ui/page/material-record.ts';
import { materialWords } from '../../ui/page/material-words.ts';
import type { KnownMaterial } from '../../ui/page/material-state.ts';
import { lookedAt, nudged } from '../../ui/page/region-edit.ts';
import { regionWords, timeWords } from '../../ui/page/region-words.ts';
import { trimOffer } from '../../ui/page/trim-words.ts';
import type { Action, BenchState, ProgrammeFacts } from '../../ui/page/state.ts';
import { loops } from './support.ts';

const id = materialIdOf('0123456789abcdef'.repeat(4));
const file: KnownMaterial = { id, name: 'tune.wav', rateHz: 44_100, channels: 2, seconds: 100, region: { startSeconds: 1, endSeconds: 2 }, trimDb: -3, reach: 'open' };
const programme: ProgrammeFacts = {
  title: 'tune.wav', rateHz: 44_100, channels: 2, frames: 4_410_000, onBench: { startFrame: 0, endFrame: 4_410_000 }, encoding: 'pcm24', origin: 'own', readBy: 'bench', sha256: '0123456789abcdef'.repeat(4), trimDb: 0,
};
const after = (...actions: readonly Action[]): BenchState => actions.reduce((state, action) => reduce(state, action), openingState(loops));

describe('own material in the state', () => {
  it('is used as it was left, or as asked; what is chosen of it is remembered', () => {
    const chosen = after({ kind: 'materials', known: [file] }, { kind: 'loop', loop: id });
    expect(chosen.session.region).toEqual(file.region);
    expect(chosen.live.material.trimDb).toBe(-3);
    const moved = reduce(reduce(chosen, { kind: 'region', region: { startSeconds: 5, endSeconds: 9 } }), { kind: 'trim', trimDb: -6 });
    expect(moved.live.material.known[0]).toMatchObject({ region: { startSeconds: 5, endSeconds: 9 }, trimDb: -6 });
    const away = reduce(moved, { kind: 'loop', loop: loops[0]!.identifier });
    expect(away.session.region).toBeNull();
    expect(away.live.material.trimDb).toBeNull();
    expect(reduce(away, { kind: 'loop', loop: id }).session.region).toEqual({ startSeconds: 5, endSeconds: 9 });
    expect(reduce(away, { kind: 'loop', loop: id, remembered: { region: null, trimDb: 0 } })).toMatchObject({ session: { region: null }, live: { material: { trimDb: 0 } } });
  });

  it('takes no trim that raises, or lowers by more than 40 dB', () => {
    for (const trimDb of [0.1, -40.1, NaN]) expect(after({ kind: 'trim', trimDb }).live.material.trimDb).toBeNull();
  });

  it('brings setting, plans and match to its rate, through undo as well', () => {
    const opening = openingState(loops);
    let book = { state: opening, history: emptyHistory, frozen: opening.setting };
    book = advance(book, { kind: 'stage-in-out', stageKey: opening.setting.path.stages[0]!.key, inCircuit: false }, 0, '');
    const { revision } = book.state.live;
    book = advance(book, { kind: 'programme', programme }, 1, '');
    expect(book.state.live).toMatchObject({ baseRateHz: 44_100, revision: revision + 1, match: { kind: 'stale' } });
    expect(book.state.setting).toMatchObject({ baseRateHz: 44_100, rules: null });
    book = advance(book, { kind: 'undo' }, 2, '');
    expect(book.state.setting.baseRateHz).toBe(44_100);
    expect(book.state.live.changedSinceFrozen).toBe(false);
    const again = advance(book, { kind: 'programme', programme: { ...programme, title: 'other' } }, 3, '');
    expect(again.state.live.revision).toBe(book.state.live.revision);
  });

  it('looks at a part that exists, of some frames at least', () => {
    const at = (startSeconds: number, endSeconds: number) => after({ kind: 'programme', programme }, { kind: 'loop-view', view: { startSeconds, endSeconds } }).live.material.view;
    expect(at(10, 20)).toEqual({ startSeconds: 10, endSeconds: 20 });
    expect(at(95, 105)).toEqual({ startSeconds: 90, endSeconds: 100 });
    expect(at(0, 100)).toBeNull();
    expect(at(50, 50)!.endSeconds - 50).toBeCloseTo(60 / 44_100, 9);
  });

  it('says its rate, and what of a long one is on the bench', () => {
    expect(materialWords(after({ kind: 'programme', programme }))).toEqual(['File at 44.1 kHz, played at 44.1 kHz.']);
    const long = { ...programme, readBy: 'browser', frames: 44_100 * 3600, onBench: { startFrame: 44_100 * 60, endFrame: 44_100 * 660 } } as const;
    expect(materialWords(after({ kind: 'programme', programme: long }, { kind: 'output-device', deviceHz: 48_000 }))).toEqual([
      'Decoded by the browser at 44.1 kHz, played at 44.1 kHz; the output device runs at 48 kHz and what is behind the bench converts.',
      'On the bench: 1:00 to 11:00 of 1:00:00. A region beyond brings another part.',
    ]);
  });
});

describe('what would clip', () => {
  const headroom = { sourceDbu: 4, fullScaleDbu: 24, first: { key: 's2', title: 'Push-pull stage', marginDb: 14.2, limit: 'clip point' } } as never;
  const at = (peakDbfs: number, origin: ProgrammeFacts['origin'] = 'own') => {
    const state = after({ kind: 'programme', programme: { ...programme, origin } }, { kind: 'region-peak', peakDbfs });
    return trimOffer({ ...state, live: { ...state.live, headroom } });
  };
  it('is offered to be lowered to the clip level, in half decibels', () => {
    expect(at(-0.1)).toEqual({ sentence: 'This material peaks at −0.1 dBFS = +23.9 dBu; for 2 push-pull that is too much from +18.2 dBu on.', lowerDb: 6 });
    expect(at(-5.7)!.lowerDb).toBe(0.5);
  });
  it('is not offered below it, for silence, or for a loop of the page', () => {
    expect(at(-5.9)).toBeNull();
    expect(at(-Infinity)).toBeNull();
    expect(at(-0.1, 'demo')).toBeNull();
  });
});

describe('a region moved by keys', () => {
  const loop = { rateHz: 44_100, frames: 44_100 };
  it('moves on whole frames and stops at the loop and before it is too short', () => {
    expect(nudged(null, 'start', 441, loop)).toEqual({ startSeconds: 0.01, endSeconds: 1 });
    expect(nudged({ startSeconds: 0.01, endSeconds: 1 }, 'start', -441, loop)).toBeNull();
    expect(nudged({ startSeconds: 0.5, endSeconds: 0.6 }, 'end', 1, loop)).toEqual({ startSeconds: 0.5, endSeconds: (26_460 + 1) / 44_100 });
    expect(nudged({ startSeconds: 0.5, endSeconds: 0.6 }, 'start', 44_100, loop)!.startSeconds).toBe((26_460 - 2205) / 44_100);
    expect(nudged({ startSeconds: 0.5, endSeconds: 0.6 }, 'end', 44_100, loop)!.endSeconds).toBe(1);
    expect(nudged({ startSeconds: 0.5, endSeconds: 0.6 }, 'end', -441, loop)!.endSeconds).toBe((26_460 - 441) / 44_100);
  });
  it('is looked at closer and wider round a moment', () => {
    expect(lookedAt(null, true, 50, 100)).toEqual({ startSeconds: 25, endSeconds: 75 });
    expect(lookedAt({ startSeconds: 25, endSeconds: 75 }, true, 30, 100)).toEqual({ startSeconds: 17.5, endSeconds: 42.5 });
    expect(lookedAt({ startSeconds: 80, endSeconds: 90 }, false, 99, 100)).toEqual({ startSeconds: 80, endSeconds: 100 });
    expect(lookedAt({ startSeconds: 25, endSeconds: 75 }, false, 50, 100)).toBeNull();
  });
  it('is told in seconds, minutes or hours', () => {
    expect([9.64, 59.99, 60, 750.55, 3723].map((seconds) => timeWords(seconds))).toEqual(['9.6 s', '60.0 s', '1:00.0', '12:30.6', '1:02:03.0']);
    expect(regionWords(null, 9.6)).toBe('0.0 to 9.6 s, whole loop');
    expect(regionWords({ startSeconds: 61, endSeconds: 62.5 }, 100)).toBe('1:01.0 to 1:02.5');
  });
});

describe('the stretch in memory', () => {
  const long = { frames: 10_000, channels: 2 };
  it('is all of what is short, else lies round the region or begins where it is wanted', () => {
    expect(windowRound({ frames: 500, channels: 2 }, null, 0, 1000)).toEqual({ startFrame: 0, endFrame: 500 });
    expect(windowRound(long, null, 0, 2000)).toEqual({ startFrame: 0, endFrame: 1000 });
    expect(windowRound(long, null, 9500, 2000)).toEqual({ startFrame: 9000, endFrame: 10_000 });
    expect(windowRound(long, { startFrame: 5000, endFrame: 5100 }, 0, 2000)).toEqual({ startFrame: 4550, endFrame: 5550 });
    expect(windowRound(long, { startFrame: 100, endFrame: 300 }, 0, 2000)).toEqual({ startFrame: 0, endFrame: 1000 });
    expect(windowRound(long, { startFrame: 3000, endFrame: 8000 }, 0, 2000)).toEqual({ startFrame: 3000, endFrame: 4000 });
  });
  it('holds a region, or the beginning of one longer than itself', () => {
    const window = { startFrame: 1000, endFrame: 2000 };
    expect(holds(window, { startFrame: 1000, endFrame: 2000 })).toBe(true);
    expect(holds(window, { startFrame: 999, endFrame: 1500 })).toBe(false);
    expect(holds(window, { startFrame: 1500, endFrame: 2001 })).toBe(false);
    expect(holds(window, { startFrame: 1000, endFrame: 5000 })).toBe(true);
  });
});

describe('a remembered file', () => {
  const record = { name: 'tune.wav', rateHz: 44_100, channels: 2, seconds: 100, openedAt: 5, region: { startSeconds: 1, endSeconds: 2 }, trimDb: -6, handle: null };
  it('is read back as it was kept', () => {
    expect(readMaterialRecord(record)).toEqual(record);
    expect(isMaterialId(id)).toBe(true);
    expect(isMaterialId('file:xyz')).toBe(false);
  });
  it('loses what cannot be of it, and is none where it is no record', () => {
    expect(readMaterialRecord({ ...record, region: { startSeconds: 3, endSeconds: 101 }, trimDb: 6, handle: {} })).toEqual({ ...record, region: null, trimDb: null });
    for (const damaged of [null, 7, {}, { ...record, name: 7 }, { ...record, rateHz: 1 }, { ...record, channels: 3 }, { ...record, seconds: NaN }]) expect(readMaterialRecord(damaged)).toBeNull();
  });
});
