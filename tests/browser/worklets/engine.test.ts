/** The page's engine with its real worker, worklet and context; the state machine is the page's own. */
import { afterEach, describe, expect, it } from 'vitest';
import { encodeWholeWav } from '../../../dsp/recording/index.ts';
import { Bench } from '../../../ui/page/bench.ts';
import { createEngine } from '../../../ui/page/engine.ts';
import { openingState } from '../../../ui/page/opening.ts';
import type { Engine, LoopEntry } from '../../../ui/page/state.ts';
import { plucked } from '../../path/support.ts';

const wav = encodeWholeWav({ encoding: 'pcm24', channelCount: 1, rateHz: 48_000 }, [plucked(48_000)], { clippedSamples: 0, notNumberSamples: 0 });
const address = URL.createObjectURL(new Blob([wav as BlobPart]));
const loops: readonly LoopEntry[] = [{ identifier: 'piano', title: 'test', file: address, channels: 1, durationSeconds: 1 }];

let engine: Engine | null = null;
afterEach(async () => {
  await engine?.dispose();
  engine = null;
});

/** A bench with its engine, and every port that was handed a processor's first message. */
function open() {
  const processorPorts: MessagePort[] = [];
  const original = MessagePort.prototype.postMessage;
  MessagePort.prototype.postMessage = function post(this: MessagePort, message: unknown, ...rest: unknown[]) {
    if ((message as { kind?: string } | null)?.kind === 'connect') processorPorts.push(this);
    return (original as (...all: unknown[]) => void).call(this, message, ...rest);
  } as typeof original;
  const { state, frozen } = { state: openingState(loops), frozen: openingState(loops).setting };
  const bench = new Bench(state, { nowMs: () => performance.now(), today: () => '2026-11-25' }, frozen);
  const made = createEngine({ dispatch: (action) => bench.dispatch(action), loops, baseUrl: document.baseURI });
  engine = made;
  bench.subscribe((before, after, action) => made.follow(before, after, action));
  made.begin(bench.state);
  return { bench, engine: made, processorPorts, restore: () => { MessagePort.prototype.postMessage = original; } };
}

const within = { timeout: 20_000, interval: 30 };

describe('the engine', () => {
  it('makes all ready before a press, plays after it, switches, matches, and is silent on Escape', async () => {
    const { bench, engine: playing, restore } = open();
    const live = () => bench.state.live;
    await expect.poll(() => live().harmonics?.figures.length, within).toBe(9);
    await expect.poll(() => live().match.kind, within).toBe('matched');
    expect(live().engine.kind).toBe('silent');
    expect(playing.readings.loopSeconds).toBe(1);
    expect(playing.readings.overview.some((sample) => sample > 0.1)).toBe(true);
    bench.dispatch({ kind: 'play' });
    expect(live().engine.kind).toBe('starting');
    await expect.poll(() => live().engine.kind, within).toBe('running');
    // The node would have said so, had it not all the plan's compiled code.
    expect(live().loopsBecause).toBeNull();
    await expect.poll(() => playing.readings.monitorPeakDb[0]! > -60, within).toBe(true);
    // Monitor −20 dB, loop peak −10 dBFS.
    expect(playing.readings.monitorPeakDb[0]!).toBeLessThan(-25);
    const before = playing.readings.positionSeconds;
    await expect.poll(() => playing.readings.positionSeconds !== before, within).toBe(true);
    // A circuit whose code the node has not had reaches it, too.
    bench.dispatch({ kind: 'insert-stage', stage: 'single-ended-valve', atIndex: 1 });
    const inserted = live().revision;
    await expect.poll(() => live().soundingRevision, within).toBe(inserted);
    expect(live().loopsBecause).toBeNull();
    bench.dispatch({ kind: 'undo' });
    const undone = live().revision;
    await expect.poll(() => live().soundingRevision, within).toBe(undone);
    bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'quiescentAmperes', value: 2.6e-3, phase: 'step' });
    const { revision } = live();
    await expect.poll(() => live().soundingRevision, within).toBe(revision);
    await expect.poll(() => live().harmonics?.revision, within).toBe(revision);
    await expect.poll(() => live().match, within).toMatchObject({ kind: 'matched' });
    // Chosen for this value, and stored with it.
    expect(bench.state.setting.rules?.map((stored) => stored !== null)).toEqual([true, true, false]);
    bench.dispatch({ kind: 'switch', trialIn: false });
    await expect.poll(() => live().match, within).toMatchObject({ kind: 'matched', waitsForSwitch: false });
    bench.dispatch({ kind: 'silence' });
    await expect.poll(() => playing.readings.monitorPeakDb[0], within).toBe(-Infinity);
    restore();
  });

  it('builds the processor anew after an error, says so, and keeps position and circuit', async () => {
    const { bench, engine: playing, processorPorts, restore } = open();
    const live = () => bench.state.live;
    await expect.poll(() => live().harmonics?.figures.length, within).toBe(9);
    await expect.poll(() => playing.readings.loopSeconds, within).toBe(1);
    bench.dispatch({ kind: 'play' });
    await expect.poll(() => live().engine.kind, within).toBe('running');
    await expect.poll(() => playing.readings.monitorPeakDb[0]! > -60, within).toBe(true);
    expect(processorPorts).toHaveLength(1);
    processorPorts[0]!.postMessage({ kind: 'programme', channels: null, region: null, frame: 0 });
    await expect.poll(() => live().engine.kind, within).toBe('rebuilt');
    expect(live().engine).toMatchObject({ sentence: expect.stringMatching(/^The audio processor stopped \(.+\) and was built anew; the last good circuit plays\.$/) as string });
    expect(live().message?.urgent).toBe(true);
    expect(processorPorts).toHaveLength(2);
    await expect.poll(() => playing.readings.monitorPeakDb[0]! > -60, within).toBe(true);
    // A second error at once ends in silence and says what to do.
    processorPorts[1]!.postMessage({ kind: 'programme', channels: null, region: null, frame: 0 });
    await expect.poll(() => live().engine.kind, within).toBe('failed');
    expect(live().playing).toBe(false);
    bench.dispatch({ kind: 'play' });
    await expect.poll(() => live().engine.kind, within).toBe('running');
    restore();
  });

  it('plays a tone only after consent, from silence', async () => {
    const { bench, engine: playing, restore } = open();
    const live = () => bench.state.live;
    await expect.poll(() => live().harmonics?.figures.length, within).toBe(9);
    bench.dispatch({ kind: 'ask-tone', frequencyHz: 1000, levelDbu: 4 });
    bench.dispatch({ kind: 'refuse-tone' });
    expect(live().engine.kind).toBe('silent');
    bench.dispatch({ kind: 'ask-tone', frequencyHz: 1000, levelDbu: 4 });
    bench.dispatch({ kind: 'consent-tone' });
    await expect.poll(() => live().engine.kind, within).toBe('running');
    // +4 dBu is −20 dBFS at +24 dBu; monitor −20 dB; the opening path's own gain is within 1.5 dB.
    await expect.poll(() => Math.abs(playing.readings.monitorPeakDb[0]! + 40) <= 1.5, within).toBe(true);
    bench.dispatch({ kind: 'silence' });
    await expect.poll(() => playing.readings.monitorPeakDb[0], within).toBe(-Infinity);
    restore();
  });
});
