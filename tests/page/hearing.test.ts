import { describe, expect, it } from 'vitest';
import { dailyShare, rollingWeekShare } from '../../dsp/listening/index.ts';
import { hearingReport, passedWords, readReading, shareWords } from '../../ui/page/hearing-words.ts';
import { readKeptHearing } from '../../ui/page/kept-hearing.ts';
import type { Action } from '../../ui/page/state.ts';
import { makeBench } from './support.ts';

const today = '2026-11-25';

function listening() {
  const { bench } = makeBench();
  const send = (...actions: Action[]) => actions.forEach((action) => bench.dispatch(action));
  /** Seconds of sound, one message each, of this mean square in both channels, or these two. */
  const hear = (seconds: number, left: number, right = left) => {
    for (let second = 0; second < seconds; second += 1) send({ kind: 'heard', seconds: 1, leftSquareSeconds: left, rightSquareSeconds: right });
  };
  const hearing = () => bench.state.live.hearing;
  const calibrate = (text = '70') => {
    send({ kind: 'ask-noise' }, { kind: 'consent-tone' });
    hear(4, 1e-5);
    send({ kind: 'calibrate-playback', text });
  };
  return { bench, send, hear, hearing, calibrate };
}

describe('calibrating', () => {
  it('asks, begins no louder than −20 dB, takes the reading once the noise has settled, and stops the noise', () => {
    const { bench, send, hear, hearing } = listening();
    send({ kind: 'monitor', monitorDb: -3 }, { kind: 'ask-noise' });
    expect(bench.state.live).toMatchObject({ toneAsked: { kind: 'noise' }, tonePlaying: false });
    send({ kind: 'consent-tone' });
    expect(bench.state.live).toMatchObject({ monitorDb: -20, tonePlaying: true, tone: { kind: 'noise' } });
    hear(2, 1e-5);
    send({ kind: 'calibrate-playback', text: '70' });
    expect(hearing()).toMatchObject({ calibration: null, refusal: expect.stringContaining('has not played for long enough') });
    // Louder: what was heard before, and the second of the way there, do not count.
    send({ kind: 'monitor', monitorDb: -10 });
    hear(1, 5e-5);
    hear(3, 1e-4);
    send({ kind: 'calibrate-playback', text: '72,5 dB(A)' });
    expect(hearing()).toMatchObject({ refusal: null, calibration: { levelDba: 72.5, equipment: 'loudspeakers', monitorDb: -10, day: today } });
    expect(Math.abs(hearing().calibration!.meanSquare / 1e-4 - 1) <= 1e-12).toBe(true);
    expect(bench.state.live).toMatchObject({ tonePlaying: false, message: { text: 'Calibrated at 72.5 dB(A). What is heard from here on is added up.' } });
  });

  it('takes no reading without the noise', () => {
    const { send, hear, hearing } = listening();
    send({ kind: 'ask-tone', frequencyHz: 1000, levelDbu: 4 }, { kind: 'consent-tone' });
    hear(9, 1e-5);
    send({ kind: 'calibrate-playback', text: '70' });
    expect(hearing()).toMatchObject({ calibration: null, refusal: expect.stringContaining('The noise does not play') });
  });

  it.each([
    ['', 'is not a reading'], ['loud', 'is not a reading'], ['7 2', 'is not a reading'], ['-70', 'is not a reading'], ['39.9', 'as quiet as a room'], ['96', 'too loud to calibrate at'],
  ])('refuses "%s" in a sentence', (text, words) => expect(readReading(text)).toContain(words));

  it.each([['70', 70], [' 72.4 ', 72.4], ['72,4 dB(A)', 72.4], ['65 dBA', 65], ['65dB', 65]])('reads "%s"', (text, dba) => expect(readReading(text)).toBe(dba));

  it('is dropped with other equipment, and when the listener says so; then nothing is added up', () => {
    for (const action of [{ kind: 'hearing-equipment', equipment: 'headphones' }, { kind: 'drop-calibration' }] as const) {
      const { send, hear, hearing, calibrate } = listening();
      calibrate();
      hear(60, 1e-5);
      const { days: before, calibration: dropped } = hearing();
      send(action);
      if (action.kind === 'drop-calibration') expect(hearing().lastTime, 'offered the next time').toBe(dropped);
      hear(60, 1e-5);
      expect(hearing()).toMatchObject({ calibration: null, heardDba: null });
      expect(hearing().days).toEqual(before);
    }
  });
});

describe('exposure', () => {
  it('is nothing without a calibration, whatever plays', () => {
    const { send, hear, hearing } = listening();
    send({ kind: 'play' });
    hear(3600, 0.1);
    expect(hearing()).toMatchObject({ days: [], heardDba: null, untold: null });
    expect(hearingReport(hearing(), today)).toEqual([]);
  });

  it('follows the output from the reading on: 15 dB up is 85 dB(A), all of a day in eight hours', () => {
    const { send, hear, hearing, calibrate } = listening();
    calibrate('70');
    send({ kind: 'play' });
    hear(4 * 3600, 1e-5 * 10 ** 1.5);
    expect(Math.abs(hearing().heardDba! - 85) <= 1e-9).toBe(true);
    expect(Math.abs(dailyShare(hearing().days, today) - 0.5) <= 1e-9).toBe(true);
    // 85 dB(A) for 4 h against 80 for 40.
    expect(Math.abs(rollingWeekShare(hearing().days, today, 'adults') - 0.1 * 10 ** 0.5) <= 1e-9).toBe(true);
    expect(hearingReport(hearing(), today).slice(0, 3)).toEqual([
      'Calibrated: 70 dB(A) with the monitor at −20 dB, loudspeakers, 2026-11-25.', 'Last heard: 85 dB(A).',
      'Today: 50 % of the daily limit recommended for noise at work, 85 dB(A) for 8 hours (NIOSH).',
    ]);
  });

  it('of headphones is that of the louder ear, of loudspeakers that of both together', () => {
    const levels = (['loudspeakers', 'headphones'] as const).map((equipment) => {
      const { send, hear, hearing, calibrate } = listening();
      send({ kind: 'hearing-equipment', equipment });
      calibrate('70');
      hear(1, 1e-5, 0);
      return hearing().heardDba!;
    });
    expect(Math.abs(levels[0]! - (70 - 10 * Math.log10(2))) <= 1e-9).toBe(true);
    expect(Math.abs(levels[1]! - 70) <= 1e-9).toBe(true);
  });

  it('is told at half and at all of a limit, once each, and not again on the next visit', () => {
    const { bench, send, hear, hearing, calibrate } = listening();
    calibrate('70');
    const said: string[] = [];
    bench.subscribe((before, after) => { if (after.live.message !== before.live.message) said.push(after.live.message!.text); });
    // 100 dB(A): a quarter of an hour a day, 4 Pa² of 1.6 Pa² h a week.
    hear(20 * 60, 1e-5 * 1e3);
    expect(said).toEqual([
      'Half the daily limit recommended for noise at work is used up: an estimate. Rest your ears, or turn down.',
      'Half the weekly reference for listening is used up: an estimate. Rest your ears, or turn down.',
      'The daily limit recommended for noise at work is used up: an estimate. Rest your ears.',
    ]);
    const next = listening();
    next.send({ kind: 'hearing-restored', days: hearing().days, lastTime: hearing().calibration, listener: 'adults' });
    expect(next.hearing()).toMatchObject({ calibration: null, lastTime: { levelDba: 70 } });
    next.calibrate('70');
    const { message } = next.bench.state.live;
    next.hear(30, 1e-5 * 1e3);
    expect(next.bench.state.live.message).toBe(message);
    send({ kind: 'hearing-listener', listener: 'sensitiveListeners' });
    expect(hearing().passed.ofWeek).toBe(2);
  });

  it('of blind work is told after it, and no level is shown of it', () => {
    const { bench, send, hear, hearing, calibrate } = listening();
    calibrate('70');
    send({ kind: 'blind-setup', seed: 1 });
    const { message } = bench.state.live;
    send({ kind: 'heard', seconds: 3000, leftSquareSeconds: 3000 * 1e-2, rightSquareSeconds: 3000 * 1e-2 });
    expect(bench.state.live.message).toBe(message);
    expect(hearing().heardDba).toBeNull();
    hear(1, 1e-5);
    expect(hearing().heardDba, 'of one second neither').toBeNull();
    send({ kind: 'blind-close' });
    expect(bench.state.live.message!.text).toContain('daily limit recommended for noise at work is used up');
    // A long stretch is one that nothing was told of.
    send({ kind: 'heard', seconds: 90, leftSquareSeconds: 9e-3, rightSquareSeconds: 9e-3 });
    expect(hearing().heardDba).toBeNull();
    hear(1, 1e-5);
    expect(hearing().heardDba).not.toBeNull();
  });
});

describe('words', () => {
  it('of shares', () => expect([0, 0.004, 0.126, 1.4].map(shareWords)).toEqual(['0 %', 'under 1 %', '13 %', '140 %']));

  it('tell the whole of one limit before the half of the other', () => {
    const of = (ofDay: 0 | 1 | 2, ofWeek: 0 | 1 | 2) => ({ day: today, ofDay, ofWeek });
    expect(passedWords(of(1, 1), of(2, 2))).toContain('daily limit');
    expect(passedWords(of(0, 1), of(1, 2))).toContain('weekly reference for listening is used up');
    expect(passedWords(of(1, 0), of(1, 1))).toContain('Half the weekly reference');
    expect(passedWords(of(1, 1), of(1, 1))).toBeNull();
    // Midnight: the day begins anew.
    expect(passedWords(of(2, 1), of(0, 1))).toBeNull();
  });
});

describe('what an earlier visit kept', () => {
  const entry = { day: today, occupationalShare: 0.1, pascalSquaredHours: 0.2, seconds: 60 };
  const calibration = { levelDba: 70, meanSquare: 1e-5, equipment: 'headphones', monitorDb: -20, day: today };

  it('is read back', () => {
    expect(readKeptHearing(new Map<string, unknown>([[today, entry], ['last-time', calibration], ['listener', 'sensitiveListeners']])))
      .toEqual({ days: [entry], lastTime: calibration, listener: 'sensitiveListeners' });
  });

  it.each([
    ['nothing', []], ['another date', [['2026-11-24', entry]]], ['no number', [[today, { ...entry, seconds: NaN }]]], ['less than nothing', [[today, { ...entry, pascalSquaredHours: -1 }]]],
    ['words', [[today, 'much'], ['last-time', 'loud'], ['listener', 'me']]], ['half a calibration', [['last-time', { ...calibration, equipment: 'a horn' }]]],
  ])('is left out where it cannot be read: %s', (_name, kept) => {
    expect(readKeptHearing(new Map(kept as [string, unknown][]))).toEqual({ days: [], lastTime: null, listener: 'adults' });
  });
});
