import { userEvent } from 'vitest/browser';
import { describe, expect, it, vi } from 'vitest';
import { kWeighting } from '../../../dsp/listening/index.ts';
import { writeSetting, parseSetting } from '../../../dsp/setting/index.ts';
import processorAddress from '../../../worklets/audio/processor.ts?single-file-worklet';
import { allDeep, deep, mountPlayingPage, press, release, wait } from '../page/support.ts';
import type { MountedPage } from '../page/support.ts';
import { button, editorOf, middleOf, mounted, mouse, OutputTap, peakOf, rateHz, spinOf, within } from '../journeys/support.ts';

let page: MountedPage;

const live = () => page.bench.state.live;
const matchWords = () => deep('match-reading').shadowRoot!.textContent!.replace(/\s+/g, ' ').trim();

/** With the region short, the match is soon measured. */
async function open(region: { startSeconds: number; endSeconds: number }): Promise<OutputTap> {
  const tap = new OutputTap();
  page = await mounted(mountPlayingPage());
  page.bench.dispatch({ kind: 'region', region });
  await vi.waitFor(() => expect(page.readings.loopSeconds).toBeGreaterThan(1), within);
  await vi.waitFor(() => expect(live().match.kind).toBe('matched'), within);
  return tap;
}

const regionSeconds = 0.6;
const regionFrames = regionSeconds * rateHz;

/**
 * K-weighted level of the last turn of the region, dB (ITU-R BS.1770-5, without the gate). What repeats has the same mean square wherever a turn
 * begins; the turn before lets the filters settle.
 */
function weightedDb(samples: Float64Array): number {
  const { shelf, highPass } = kWeighting(rateHz);
  let signal = samples;
  for (const { b0, b1, b2, a1, a2 } of [shelf, highPass]) {
    const filtered = new Float64Array(signal.length);
    for (let i = 0; i < signal.length; i += 1) {
      filtered[i] = b0 * signal[i]! + b1 * (signal[i - 1] ?? 0) + b2 * (signal[i - 2] ?? 0) - a1 * (filtered[i - 1] ?? 0) - a2 * (filtered[i - 2] ?? 0);
    }
    signal = filtered;
  }
  const last = signal.subarray(-regionFrames);
  return 10 * Math.log10(last.reduce((sum, sample) => sum + sample * sample, 0) / regionFrames);
}

describe('J2: in and out of circuit', () => {
  it('by C tapped and held, I, O, the box and the switch in the strip, without a break in the position, equally loud', async () => {
    const tap = await open({ startSeconds: 0, endSeconds: regionSeconds });
    await userEvent.keyboard(' ');
    await tap.untilSounding();
    const cells = () => allDeep('.switch', deep('path-strip').shadowRoot!);
    const sides: boolean[] = [];
    const switched = (trialIn: boolean) => {
      expect(live().trialIn).toBe(trialIn);
      sides.push(trialIn);
    };
    press('c');
    switched(false);
    release('c');
    await wait(30);
    expect(live().trialIn, 'a tap stays').toBe(false);
    press('c');
    switched(true);
    await wait(350);
    release('c');
    switched(false);
    press('i');
    switched(true);
    press('o');
    switched(false);
    await page.settle();
    await userEvent.click(deep('.box'));
    switched(true);
    await page.settle();
    const { x, y } = middleOf(deep('.box'));
    await mouse.press(x, y);
    await vi.waitFor(() => expect(live().trialIn).toBe(false), within);
    sides.push(false);
    await wait(350);
    await mouse.release(x, y);
    await vi.waitFor(() => expect(live().trialIn).toBe(true), within);
    sides.push(true);

    const weighted: Record<string, number> = {};
    for (const side of ['in', 'out'] as const) {
      press(side === 'in' ? 'i' : 'o');
      sides.push(side === 'in');
      // The crossfade is 20 ms at most; the coupling capacitors have settled to the loop in the turn before.
      const from = tap.nowFrame + regionFrames;
      weighted[side] = weightedDb(await tap.samples(from, from + 2 * regionFrames));
    }
    expect(weighted['in']).toBeGreaterThan(-70);
    expect(Math.abs(weighted['in']! - weighted['out']!), `in ${weighted['in']} dB, out ${weighted['out']} dB`).toBeLessThanOrEqual(0.1);

    // A stage in the strip is another kind of switch: it changes the setting, and is undone.
    await userEvent.click(cells()[1]!);
    expect(page.bench.state.setting.path.stages[1]!.inCircuit).toBe(false);
    await page.settle();
    expect(cells()[1]!.getAttribute('aria-checked')).toBe('false');
    expect(cells()[1]!.textContent).toMatch(/^out/);
    page.bench.dispatch({ kind: 'undo' });
    expect(page.bench.state.setting.path.stages[1]!.inCircuit).toBe(true);
    await vi.waitFor(() => expect(live().soundingRevision).toBe(live().revision), within);
    press('Escape');

    // The audio thread's own log: each switch once, and nothing but the start has placed the position.
    const log = (page.root.engine.playingLog())!;
    const logged = log.changes.filter(({ kind }) => kind === 'switch').map((change) => (change as { trialIn: boolean }).trialIn);
    expect(logged.slice(1)).toEqual(sides.filter((side, index) => side !== (sides[index - 1] ?? true)));
    expect(log.changes.filter(({ kind, frame }) => kind === 'position' && frame > 0)).toEqual([]);
    expect(page.actions.some(({ kind }) => kind === 'seek' || kind === 'pause')).toBe(false);
  });
});

describe('J6: the match', () => {
  it('goes stale with a change, is measured again, and waits for the next switch', async () => {
    const tap = await open({ startSeconds: 0, endSeconds: 5 });
    // Where one goes before the first press, there it begins.
    press('l');
    press('ArrowRight');
    press('ArrowRight');
    await userEvent.keyboard(' ');
    await tap.untilSounding();
    await vi.waitFor(() => expect(page.readings.positionSeconds).toBeGreaterThan(2), within);
    const states: string[] = [];
    const stop = page.bench.subscribe((_before, after) => {
      if (after.live.match.kind !== states.at(-1)) states.push(after.live.match.kind);
    });
    page.bench.dispatch({ kind: 'open-stage', stageKey: 's3' });
    await page.settle();
    // The verdict on a joint may have come meanwhile, and another measurement with it.
    await vi.waitFor(() => expect(live().match.kind).toBe('matched'), within);
    const before = live().match as { inGainDb: number; outGainDb: number };
    page.bench.dispatch({ kind: 'seek', seconds: 0 });
    spinOf('makeUpDb').focus();
    await userEvent.keyboard('{PageUp}');
    await vi.waitFor(() => expect(matchWords()).toContain('stale since a change'), within);
    await vi.waitFor(() => {
      // A loop start is an occasion to take the gain, too: a busy machine is kept from one.
      if (page.readings.positionSeconds > 2.5) page.bench.dispatch({ kind: 'seek', seconds: 0 });
      expect(live().match.kind).toBe('matched');
    }, { ...within, interval: 100 });
    stop();
    expect(states.slice(-3)).toEqual(['stale', 'measuring', 'matched']);
    await vi.waitFor(() => expect(matchWords()).toMatch(/^matched.*dB left over.*waits for the next switch/), within);
    expect(live().match).toMatchObject({ kind: 'matched', waitsForSwitch: true });
    const { inGainDb, residualDb } = live().match as { inGainDb: number; residualDb: number };
    // Make-up of 6 dB is turned down again by 6 dB, whatever was turned down before.
    expect(inGainDb - (live().match as typeof before).outGainDb - (before.inGainDb - before.outGainDb)).toBeCloseTo(-6, 1);
    expect(Math.abs(residualDb)).toBeLessThanOrEqual(0.1);
    const taken = () => page.root.engine.playingLog()!.changes.filter(({ kind, frame }) => kind === 'match' && frame > 0);
    const takenBefore = taken().length;
    press('o');
    await vi.waitFor(() => expect(live().match).toMatchObject({ waitsForSwitch: false }), within);
    expect(taken()).toHaveLength(takenBefore + 1);
    expect(taken().at(-1)).toMatchObject({ inGain: expect.closeTo(10 ** (inGainDb / 20), 9) as number });
    await vi.waitFor(() => expect(matchWords()).not.toContain('waits'), within);
    press('Escape');
    expect(parseSetting(writeSetting(page.bench.state.setting)).levelMatch).toMatchObject({ inGainDb, residualDb, programme: 'piano' });
  });
});

describe('J14: consent to a tone', () => {
  it('refused is silent, accepted rises over 200 ms, and Escape ends it', async () => {
    const tap = await open({ startSeconds: 0, endSeconds: 1 });
    const ask = async () => {
      await userEvent.selectOptions(deep<HTMLSelectElement>('select', deep('loop-line').shadowRoot!), 'probe tone …');
      await page.settle();
      expect(deep('tone-consent').shadowRoot!.textContent).toContain('A 200 Hz tone');
    };
    await ask();
    await userEvent.click(button('Not now'));
    await wait(200);
    expect(tap.context, 'no audio was begun').toBeNull();
    expect(live()).toMatchObject({ toneAsked: null, tonePlaying: false, playing: false, engine: { kind: 'silent' } });

    // Once the loop has played, the tap is there before the tone is.
    await userEvent.keyboard(' ');
    await tap.untilSounding();
    await userEvent.keyboard(' ');
    await ask();
    await userEvent.keyboard('{Escape}');
    await wait(100);
    expect(live()).toMatchObject({ toneAsked: null, tonePlaying: false });
    const quietFrom = tap.nowFrame;
    expect(peakOf(await tap.samples(quietFrom, quietFrom + 4096)), 'refused by Escape').toBe(0);
    await ask();
    const asked = tap.nowFrame;
    await userEvent.click(button('Play the tone'));
    await tap.untilSounding(1e-3);
    const heardTo = tap.nowFrame + rateHz / 2;
    const samples = await tap.samples(asked, heardTo);
    const begins = samples.findIndex((sample) => sample !== 0);
    const period = rateHz / 200;
    const peaks = Array.from({ length: 60 }, (_, index) => peakOf(samples.subarray(begins + index * period, begins + (index + 1) * period)));
    const full = peaks.at(-1)!;
    // Monitor −20 dB, +4 dBu at +24 dBu for full scale; the path's own gain is within 1.5 dB.
    expect(Math.abs(20 * Math.log10(full) + 40)).toBeLessThanOrEqual(1.5);
    // A straight line over 200 ms = 40 periods; within the first tenth of it the path's own settling is heard too.
    for (const [periods, share] of [[2, 0.1], [10, 0.3], [20, 0.56], [30, 0.8]] as const) expect(peaks[periods]! / full, `after ${periods} periods`).toBeLessThan(share);
    expect(peaks[38]! / full).toBeGreaterThan(0.9);
    await userEvent.keyboard('{Escape}');
    const pressed = tap.pressedAt('Escape');
    const after = await tap.samples(pressed, pressed + rateHz / 2);
    const last = after.findLastIndex((sample) => sample !== 0);
    expect(last / rateHz, 'seconds of tone after the key').toBeLessThanOrEqual(0.05);
    expect(live().tonePlaying).toBe(false);
  });
});

describe('acceptance 15: Escape', () => {
  it('silences the output within 50 ms of the key while playing, typing, dragging, choosing, with the key card or the field of G open', async () => {
    const tap = await open({ startSeconds: 0, endSeconds: 1 });
    const states: Record<string, () => Promise<void>> = {
      playing: async () => undefined,
      typing: async () => {
        spinOf('emitterOhms').focus();
        await userEvent.keyboard('12');
        expect(deep('input', editorOf('emitterOhms').shadowRoot!)).toBeDefined();
      },
      dragging: async () => {
        const { x, y } = middleOf(spinOf('emitterOhms'));
        await mouse.press(x, y);
        await mouse.move(x + 30, y);
        await vi.waitFor(() => expect(page.bench.dragging).toBe(true), within);
      },
      'key card': async () => {
        page.bench.dispatch({ kind: 'shelf', shelf: 'keys' });
        await page.settle();
      },
      'field of G': async () => {
        press('g');
        await page.settle();
        expect(live().goToOpen).toBe(true);
      },
      'tone asked for': async () => {
        page.bench.dispatch({ kind: 'ask-tone', frequencyHz: 1000, levelDbu: 4 });
        await page.settle();
      },
    };
    for (const [name, enter] of Object.entries(states)) {
      (document.activeElement as HTMLElement | null)?.blur();
      page.bench.dispatch({ kind: 'play' });
      await tap.untilSounding();
      await enter();
      await userEvent.keyboard('{Escape}');
      const pressed = tap.pressedAt('Escape');
      const before = await tap.samples(pressed - rateHz / 10, pressed);
      const after = await tap.samples(pressed, pressed + rateHz / 4);
      expect(peakOf(before), `${name}: sound before the key`).toBeGreaterThan(1e-4);
      expect((after.findLastIndex((sample) => sample !== 0) + 1) / rateHz, `${name}: seconds of sound after the key`).toBeLessThanOrEqual(0.05);
      expect(live(), name).toMatchObject({ playing: false, tonePlaying: false, toneAsked: null });
      if (name === 'dragging') {
        await mouse.release(10, 10);
        expect(page.bench.state.setting.path.stages[1]!.values['emitterOhms'], 'the drag is undone').toBe(10);
      }
      page.bench.dispatch({ kind: 'go-to', open: false });
      await page.settle();
    }
  });
});

describe('J16: after loading', () => {
  it('asks the network for nothing: not on Play, nor for a value, a switch, a match, a render of the probe', async () => {
    await open({ startSeconds: 0, endSeconds: 1 });
    // Workers are made with the page and load piece by piece here; in a build each is one file.
    let lastLoadMs = performance.now();
    const loading = new PerformanceObserver(() => { lastLoadMs = performance.now(); });
    loading.observe({ type: 'resource' });
    await vi.waitFor(() => expect(performance.now() - lastLoadMs).toBeGreaterThan(1500), within);
    loading.disconnect();
    const asked: string[] = [];
    const observer = new PerformanceObserver((list) => asked.push(...list.getEntries().map(({ name }) => name)));
    observer.observe({ type: 'resource' });
    const fetching = vi.spyOn(window, 'fetch');
    const workers = vi.spyOn(window, 'Worker');
    const beacons = vi.spyOn(navigator, 'sendBeacon');
    const requests = vi.spyOn(XMLHttpRequest.prototype, 'open');
    press(' ');
    await vi.waitFor(() => expect(Math.max(...page.readings.monitorPeakDb)).toBeGreaterThan(-100), within);
    press('o');
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 12, phase: 'step' });
    page.bench.dispatch({ kind: 'probe', frequencyHz: 1000, levelDbu: 4 });
    await vi.waitFor(() => expect(live().harmonics?.revision).toBe(live().revision), within);
    await vi.waitFor(() => expect(live().soundingRevision).toBe(live().revision), within);
    await vi.waitFor(() => expect(live().match.kind).toBe('matched'), within);
    press('Escape');
    await wait(100);
    observer.disconnect();
    asked.push(...[fetching, workers, beacons].flatMap(({ mock }) => mock.calls.map(([first]) => String(first))), ...requests.mock.calls.map(([, address]) => String(address)));
    vi.restoreAllMocks();
    // Here the processor has an address in memory already; in a build it has one on the network, which must not be asked again.
    expect(asked.length).toBeGreaterThan(0);
    expect(asked).not.toContain(processorAddress);
    expect(asked.filter((address) => !/^(blob|data):/.test(address))).toEqual([]);
  });
});
