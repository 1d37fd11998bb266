/** A live input as the page's state: asked for before it is opened, heard from a low level, refused what it cannot do; and its words. */
import { describe, expect, it } from 'vitest';
import type { LoopbackFinding } from '../../dsp/measure/index.ts';
import { grantedWords, inputLevelWords, liveMatchWords, loopbackWords, notGranted, rateWords, statedLatencyRows } from '../../ui/page/live-input-words.ts';
import type { InputSettings } from '../../ui/page/live-input-state.ts';
import { blindHindrance } from '../../ui/page/reduce-blind.ts';
import { matchedOnKept } from '../../ui/page/reduce-live-input.ts';
import type { Action } from '../../ui/page/state.ts';
import { tellState } from '../../ui/page/tell.ts';
import { makeBench } from './support.ts';

const settings: InputSettings = {
  label: 'Stage box', deviceId: 'a', rateHz: 48_000, channels: 2, latencySeconds: 0.01, echoCancellation: false, noiseSuppression: false, autoGainControl: false, voiceIsolation: null,
};
const opened: Action = { kind: 'input-opened', settings, devices: [{ deviceId: 'a', label: 'Stage box' }, { deviceId: 'b', label: 'camera' }] };

function listening() {
  const made = makeBench();
  const { bench } = made;
  for (const action of [{ kind: 'monitor', monitorDb: -6 }, { kind: 'input-ask' }, { kind: 'input-consent' }, opened] as const) bench.dispatch(action);
  return { ...made, bench, input: () => bench.state.live.input, live: () => bench.state.live };
}

describe('opening', () => {
  it('asks first, in silence; a refusal, Escape, Play or a tone opens nothing', () => {
    const { bench } = makeBench();
    bench.dispatch({ kind: 'play' });
    for (const answer of [{ kind: 'input-refuse' }, { kind: 'silence' }, { kind: 'play' }, { kind: 'ask-tone', frequencyHz: 1000, levelDbu: 4 }, { kind: 'loop', loop: 'piano' }] as const) {
      bench.dispatch({ kind: 'input-ask' });
      expect([bench.state.live.input.phase, bench.state.live.playing]).toEqual(['asked', false]);
      bench.dispatch(answer);
      expect([bench.state.live.input.phase, bench.state.live.input.sounding], answer.kind).toEqual(['closed', false]);
    }
    bench.dispatch({ kind: 'input-consent' });
    expect(bench.state.live.input.phase).toBe('closed');
    bench.dispatch(opened);
    expect(bench.state.live.input).toMatchObject({ phase: 'closed', sounding: false, settings: null });
  });

  it('that is awaited still gives way to Escape, Play, a loop, a comparison, a sitting', () => {
    for (const wish of [{ kind: 'silence' }, { kind: 'play' }, { kind: 'loop', loop: 'piano' }, { kind: 'blind-setup', seed: 1 }, { kind: 'sitting-open', id: 'none' }] as const) {
      const { bench } = makeBench();
      for (const action of [{ kind: 'input-ask' }, { kind: 'input-consent' }, wish, opened] as const) bench.dispatch(action);
      expect(bench.state.live, wish.kind).toMatchObject({ playing: wish.kind === 'play', input: { phase: 'closed', sounding: false } });
    }
  });

  it('begins to play at −40 dB, or lower where the monitor was; a device that fails says why and leaves the loop silent', () => {
    const { live, bench } = listening();
    expect(live()).toMatchObject({ playing: true, monitorDb: -40, input: { phase: 'open', sounding: true, deviceId: 'a', settings } });
    bench.dispatch({ kind: 'monitor', monitorDb: -50 });
    bench.dispatch({ kind: 'input-hear', heard: false });
    bench.dispatch({ kind: 'input-hear', heard: true });
    expect(live().monitorDb).toBe(-50);
    bench.dispatch({ kind: 'input-lost', sentence: 'The input is gone.' });
    expect(live()).toMatchObject({ playing: false, message: { text: 'The input is gone.', urgent: true }, input: { phase: 'closed', sounding: false, trouble: 'The input is gone.', settings: null } });
  });

  it('is not stored: session and setting are the same objects', () => {
    const { bench } = makeBench();
    const { session, setting } = bench.state;
    for (const action of [{ kind: 'input-ask' }, { kind: 'input-consent' }, opened, { kind: 'input-channels', channels: 'stereo' }] as const) bench.dispatch(action);
    expect(bench.state.session).toBe(session);
    expect(bench.state.setting).toBe(setting);
  });
});

describe('while it is heard', () => {
  it('Escape silences and closes nothing; Play brings it back', () => {
    const { bench, live } = listening();
    bench.dispatch({ kind: 'silence' });
    expect(live()).toMatchObject({ playing: false, input: { phase: 'open', sounding: true } });
    bench.dispatch({ kind: 'play' });
    expect(live()).toMatchObject({ playing: true, input: { sounding: true } });
  });

  it('another loop, or one that came by itself, takes its place; the input stays open', () => {
    const { bench, live } = listening();
    bench.dispatch({ kind: 'loop', loop: bench.state.session.loop });
    expect(live()).toMatchObject({ playing: true, input: { phase: 'open', sounding: false } });
    bench.dispatch({ kind: 'input-ask' });
    expect(live().input.sounding).toBe(true);
    bench.dispatch({ kind: 'loop', loop: 'clarinet' });
    expect(live().input.sounding).toBe(false);
  });

  it('refuses a position and a region in words, and changes neither', () => {
    const { bench, live } = listening();
    for (const action of [{ kind: 'seek', seconds: 2 }, { kind: 'region', region: { startSeconds: 1, endSeconds: 2 } }] as const) {
      bench.dispatch(action);
      expect(live().message!.text).toMatch(/no position and no region/);
      bench.dispatch({ kind: 'message', text: '', urgent: false });
    }
    bench.dispatch({ kind: 'hear-difference', heard: true });
    expect(live().message!.text).toMatch(/computed of a loop/);
    expect([bench.state.session.region, live().difference.heard]).toEqual([null, false]);
    bench.dispatch({ kind: 'input-hear', heard: false });
    bench.dispatch({ kind: 'region', region: { startSeconds: 1, endSeconds: 2 } });
    expect(bench.state.session.region).toEqual({ startSeconds: 1, endSeconds: 2 });
  });

  it('blind work is refused in words, and the state told names it', () => {
    const { bench, live } = listening();
    expect(blindHindrance({ ...live(), loopLoaded: true })).toMatch(/^Live input cannot be compared blind/);
    expect(tellState(bench.state)).toMatch(/live input, not matched: live input, monitor minus 40$/);
    bench.dispatch({ kind: 'input-hear', heard: false });
    expect(blindHindrance({ ...live(), loopLoaded: true })).not.toMatch(/Live input/);
  });

  it('is not matched but for what was kept of it', () => {
    const { bench } = listening();
    expect(liveMatchWords(bench.state)!.heading).toBe('not matched: live input');
    bench.dispatch({ kind: 'input-kept', loop: 'piano' });
    bench.dispatch({ kind: 'loop', loop: 'piano' });
    bench.dispatch({ kind: 'matched', revision: bench.state.live.revision, match: { kind: 'matched', inGainDb: -1, outGainDb: 0, residualDb: 0, waitsForSwitch: false } });
    expect(liveMatchWords(bench.state)).toBeNull();
    bench.dispatch({ kind: 'input-hear', heard: true });
    expect([matchedOnKept(bench.state), liveMatchWords(bench.state)!.heading]).toEqual([true, 'matched on the kept stretch']);
  });

  it('a howl stops it, goes back to −40 dB and says what to do', () => {
    const { bench, live } = listening();
    bench.dispatch({ kind: 'monitor', monitorDb: -10 });
    bench.dispatch({ kind: 'input-howl', frequencyHz: 2300 });
    expect(live()).toMatchObject({ playing: false, monitorDb: -40, message: { urgent: true }, input: { phase: 'open' } });
    expect(live().input.trouble).toMatch(/2.3 kHz.*headphones/);
  });
});

describe('the loopback measurement', () => {
  const finding: LoopbackFinding = { kind: 'found', delayFrames: 1234.5, driftPpm: 0.1, spreadFrames: 0.002, heard: 4, bursts: 4, standsOutDb: 31, gainDb: -18.2, inverted: true };

  it('asks first, silences, takes one answer, and is ended by Escape', () => {
    const { bench, live, input } = listening();
    bench.dispatch({ kind: 'loopback-measure' });
    expect(input().loopback.kind).toBe('none');
    bench.dispatch({ kind: 'ask-tone', frequencyHz: 1000, levelDbu: 4 });
    bench.dispatch({ kind: 'consent-tone' });
    expect(live().tonePlaying).toBe(true);
    bench.dispatch({ kind: 'loopback-ask' });
    expect([input().loopback.kind, live().playing, live().tonePlaying]).toEqual(['asked', false, false]);
    bench.dispatch({ kind: 'loopback-measure' });
    bench.dispatch({ kind: 'silence' });
    expect(input().loopback.kind).toBe('none');
    bench.dispatch({ kind: 'loopback-told', finding, rateHz: 48_000 });
    expect(input().loopback.kind).toBe('none');
    bench.dispatch({ kind: 'loopback-ask' });
    bench.dispatch({ kind: 'loopback-measure' });
    bench.dispatch({ kind: 'loopback-told', finding, rateHz: 48_000 });
    expect(input().loopback).toEqual({ kind: 'told', finding, rateHz: 48_000 });
    for (let step = 0; step < 5; step += 1) bench.dispatch({ kind: 'loopback-louder' });
    expect(input()).toMatchObject({ loopbackDbfs: -20, loopback: { kind: 'asked' } });
  });

  it('says what was measured, of what it consists and for what it holds', () => {
    const words = loopbackWords(finding, 48_000, 0.00131).join('\n');
    expect(words).toMatch(/^Measured: 25\.7 ms, 1234\.5 samples at 48 kHz/);
    expect(words).toMatch(/With the path's 1\.31 ms, what you play is heard 27\.0 ms late/);
    expect(words).toMatch(/4 of 4 bursts, within 0\.01 samples of one line, 31 dB over the rest; came back 18\.2 dB weaker, inverted/);
    expect(words).toMatch(/holds for these devices/);
    expect(words).not.toMatch(/drift/);
    expect(loopbackWords({ ...finding, driftPpm: -42 }, 48_000, null).join()).toMatch(/drift apart by 42 millionths/);
    expect(loopbackWords({ kind: 'refused', why: 'silent', sentence: 'Nothing.' }, 48_000, 0)).toEqual(['Nothing.']);
  });
});

describe('words', () => {
  it('name each treatment that was not granted, and each that is not told of', () => {
    expect(notGranted(settings, 'stereo')).toEqual([]);
    expect(notGranted({ ...settings, echoCancellation: true }, 'mono')).toEqual(['The browser keeps echo cancellation on: what you hear is not the input alone.']);
    expect(notGranted({ ...settings, echoCancellation: true, autoGainControl: true, voiceIsolation: true, noiseSuppression: null, channels: 1 }, 'stereo')).toEqual([
      'The browser keeps echo cancellation, automatic gain and voice isolation on: what you hear is not the input alone.',
      'The browser does not say whether noise suppression is off.',
      'The device gives one channel: it is heard on both sides.',
    ]);
    expect(grantedWords(settings)).toBe('Stage box, 2 channels at 48 kHz; echo cancellation, noise suppression and automatic gain off.');
    expect(grantedWords({ ...settings, channels: null, rateHz: null, echoCancellation: null, noiseSuppression: null, autoGainControl: null })).toBe('Stage box.');
  });

  it('say where the browser resamples', () => {
    expect(rateWords(settings, 48_000)).toBe('Input and bench both run at 48 kHz.');
    expect(rateWords({ ...settings, rateHz: 44_100 }, 48_000)).toMatch(/runs at 44\.1 kHz, the bench at 48 kHz: the browser resamples/);
    expect(rateWords({ ...settings, rateHz: null }, 96_000)).toMatch(/at 96 kHz\. The browser does not tell/);
  });

  it('add up what is stated of the delays, and say what is not', () => {
    const rows = statedLatencyRows({ baseSeconds: 0.025, outputSeconds: 0, inputSeconds: 0.01, pathSeconds: 0.00131 });
    expect(rows).toEqual([['browser', '25.0 ms'], ['output device', 'not stated'], ['input device', '10.0 ms'], ['path', '1.31 ms'], ['sum of what is stated', '36.3 ms']]);
    expect([inputLevelWords(0), inputLevelWords(1), inputLevelWords(0.1)]).toEqual(['silent', '0.0 dBFS peak', '−20.0 dBFS peak']);
  });
});
