/** A live input: refused, opened, heard through the path, kept as a loop, silenced; and the way from the bench's own output to its input. */
import axe from 'axe-core';
import { describe, expect, it, vi } from 'vitest';
import { deep, mountPlayingPage, press } from '../page/support.ts';
import { button, mounted, OutputTap, peakOf, rateHz, within } from '../journeys/support.ts';

/** What the browser is asked for an input, until the test ends. */
function opening() {
  return vi.spyOn(navigator.mediaDevices, 'getUserMedia');
}

describe('a live input', () => {
  it('is opened by nobody who does not agree; then its settings are shown, it sounds through the path, and a stretch becomes a loop', async () => {
    const asked = opening();
    const tap = new OutputTap();
    const page = await mounted(mountPlayingPage());
    const live = () => page.bench.state.live;
    button('Listening').click();
    await page.settle();
    button('Hear an input …').click();
    await page.settle();
    expect(deep('input-consent').shadowRoot!.textContent).toMatch(/The input will be heard. Use headphones, or turn the monitor down: loudspeakers and a microphone can howl/);
    button('Not now').click();
    await page.settle();
    expect([live().input.phase, asked.mock.calls.length]).toEqual(['closed', 0]);

    button('Hear an input …').click();
    await page.settle();
    button('Begin').click();
    await vi.waitFor(() => expect(live().input.phase).toBe('open'), within);
    expect(asked.mock.calls[0]![0]!.audio).toMatchObject({ echoCancellation: false, noiseSuppression: false, autoGainControl: false, sampleRate: rateHz });
    expect(live()).toMatchObject({ monitorDb: -40, playing: true, input: { sounding: true, settings: { echoCancellation: false } } });
    await page.settle();
    const { settings } = live().input;
    expect(deep('#granted').textContent).toContain(settings!.label);
    expect(deep('#granted').textContent).toMatch(settings!.rateHz === rateHz ? /both run at 48 kHz/ : /the browser resamples/);
    expect(deep('live-input-line').shadowRoot!.textContent).toContain(`Live input: ${settings!.label}`);
    await vi.waitFor(() => expect(live().engine.kind).toBe('running'), within);
    await tap.untilSounding(1e-4);
    await vi.waitFor(() => expect(page.readings.input.peak).toBeGreaterThan(0.01), within);
    await vi.waitFor(() => expect(live().input.latency).not.toBeNull(), within);
    expect((await axe.run(deep('live-input-panel'), { rules: { region: { enabled: false } } })).violations).toEqual([]);

    press('Escape');
    const from = tap.nowFrame + Math.round(0.05 * rateHz);
    expect(peakOf(await tap.samples(from, from + 9600))).toBe(0);
    expect(live()).toMatchObject({ playing: false, input: { phase: 'open', sounding: true } });

    button('Keep the last 20 s as a loop').click();
    await vi.waitFor(() => expect(page.bench.state.session.loop).toMatch(/^file:/), within);
    await vi.waitFor(() => expect(live().programme!.title).toMatch(/^input kept at/), within);
    expect(live().input).toMatchObject({ phase: 'open', sounding: false, kept: [page.bench.state.session.loop] });
    expect(live().programme!.frames).toBeGreaterThan(0.2 * rateHz);
    button('Close the input').click();
    expect(live().input.phase).toBe('closed');
  });

  it('that gives the bench its own output, so much later, is measured to come so much later', async () => {
    const wayFrames = 4800;
    const asked = opening();
    const tap = new OutputTap();
    const page = await mounted(mountPlayingPage());
    const loopback = () => page.bench.state.live.input.loopback;
    page.bench.dispatch({ kind: 'play' });
    await vi.waitFor(() => expect(page.bench.state.live.engine.kind).toBe('running'), within);
    const { source } = tap;
    const context = source!.context as AudioContext;
    const back = new MediaStreamAudioDestinationNode(context);
    asked.mockResolvedValue(back.stream);
    page.bench.dispatch({ kind: 'input-ask' });
    page.bench.dispatch({ kind: 'input-consent' });
    await vi.waitFor(() => expect(page.bench.state.live.input.phase).toBe('open'), within);
    page.bench.dispatch({ kind: 'silence' });
    const way = new DelayNode(context, { delayTime: wayFrames / rateHz });
    source!.connect(way).connect(back);
    page.bench.dispatch({ kind: 'shelf', shelf: 'listening' });
    await page.settle();
    button('Measure it …').click();
    await page.settle();
    button('Play the bursts').click();
    await vi.waitFor(() => expect(loopback().kind).toBe('told'), within);
    await page.settle();
    const told = loopback();
    if (told.kind !== 'told') return;
    // On a machine that is busy audio may come late between bursts; then that is what it says.
    expect(told.finding.kind, 'a recording there was').not.toBe('failed');
    if (told.finding.kind === 'refused') expect(told.finding.why).toBe('moved');
    else if (told.finding.kind === 'found') {
      expect(told.finding.delayFrames).toBeGreaterThanOrEqual(wayFrames);
      expect(told.finding.delayFrames).toBeLessThan(wayFrames + 0.3 * rateHz);
      expect(deep('#finding').textContent).toMatch(/Measured: \d+\.\d ms, \d+\.\d samples at 48 kHz.*It holds for these devices/);
    }
  });
});
