/** A masked instrument searched for with a bell, on the running loop, by keys alone. */
import { userEvent } from 'vitest/browser';
import { describe, expect, it, vi } from 'vitest';
import { deep, frames, mountPlayingPage, press } from '../page/support.ts';
import { button, mounted, OutputTap, peakOf, rateHz, valueOf, within } from '../journeys/support.ts';

const key = 's4';

describe('the searching bell', () => {
  it('shows the loop’s spectrum, is held up and swept while it plays, and turned down in one step', async () => {
    const tap = new OutputTap();
    const page = await mounted(mountPlayingPage());
    page.bench.dispatch({ kind: 'insert-stage', stage: 'equaliser', atIndex: 3 });
    // Behind the curve stands the spectrum of the loop, from the worker: silence it is not.
    await vi.waitFor(() => expect(page.bench.state.live.spectrum).not.toBeNull(), within);
    const { thirds } = page.bench.state.live.spectrum!;
    expect(thirds).toHaveLength(31);
    expect(Math.max(...thirds.map(({ db }) => db))).toBeGreaterThan(-60);
    // Of the region that plays: another one, another spectrum.
    page.bench.dispatch({ kind: 'region', region: { startSeconds: 1, endSeconds: 2 } });
    await vi.waitFor(() => expect(page.bench.state.live.spectrum!.thirds).not.toEqual(thirds), within);
    await page.settle();
    expect(deep('.thirds').getAttribute('points')!.split(' ').length).toBe(62);

    press(' ', {}, document.body);
    await tap.untilSounding();
    await userEvent.click(button('Hold a bell up'));
    await page.settle();
    expect([valueOf(page, key, 'section1Kind'), valueOf(page, key, 'section1Db')]).toEqual(['bell', 12]);
    expect(page.bench.state.live.monitorDb, 'the monitor stays where it was').toBe(-20);
    // Sweeping by keys reaches the audio thread, and playing goes on without a gap.
    for (let step = 0; step < 12; step += 1) {
      await userEvent.keyboard(step % 2 ? '{ArrowRight}' : '{PageDown}');
      await frames(3);
      if (step % 2) await userEvent.keyboard('{PageUp}');
    }
    await vi.waitFor(() => expect(page.bench.state.live.soundingRevision).toBe(page.bench.state.live.revision), within);
    const now = tap.nowFrame;
    const samples = await tap.samples(now, now + rateHz);
    expect(samples.every(Number.isFinite)).toBe(true);
    expect(peakOf(samples)).toBeGreaterThan(1e-4);
    expect(peakOf(samples), 'the limiter holds the monitor').toBeLessThanOrEqual(1);

    await userEvent.click(button('Turn down'));
    await page.settle();
    expect([valueOf(page, key, 'section1Db'), page.bench.state.live.search]).toEqual([3, null]);
    press('z', { ctrlKey: true });
    expect([valueOf(page, key, 'section1Db'), valueOf(page, key, 'section1Hz'), valueOf(page, key, 'section1Quality')]).toEqual([2, 2000, 4]);
    press('Escape');
    expect(page.bench.state.live.playing).toBe(false);
  });
});
