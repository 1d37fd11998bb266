/** Figures of the music on the whole page: the moment at which a stage acts is dragged over and loops; the spectrum follows what plays. */
import { describe, expect, it, vi } from 'vitest';
import { deep, mountPlayingPage, press } from '../page/support.ts';
import type { MountedPage } from '../page/support.ts';
import { mounted, mouse, within } from '../journeys/support.ts';

const plate = () => deep('figure-plate').shadowRoot!;
const caption = (page: MountedPage): string => page.figures.shown?.figure?.caption ?? '';
const slow = { ...within, timeout: 60_000 };

describe('what the path adds to the music', () => {
  it('is measured of the region, and a moment dragged over on its strip is what plays from then on', async () => {
    const page = await mounted(mountPlayingPage());
    page.bench.dispatch({ kind: 'region', region: { startSeconds: 3.5, endSeconds: 5.5 } });
    page.bench.dispatch({ kind: 'open-figure', view: 'loop-added' });
    await vi.waitFor(() => expect(caption(page)).toMatch(/^From 3\.50 to 5\.50 s −\d+\.\d dB re the music is added/), slow);
    await page.settle();
    const area = deep('plot-area', plate());
    const { left, right, top } = area.getBoundingClientRect();
    const [from, to] = [left + 0.4 * (right - left), left + 0.6 * (right - left)];
    // Within the first panel, under its title and axis words.
    const y = top + 80;
    await mouse.press(from, y);
    await mouse.move((from + to) / 2, y);
    await mouse.move(to, y);
    await mouse.release(to, y);
    await vi.waitFor(() => expect(page.bench.state.session.region!.startSeconds).toBeGreaterThan(3.5), within);
    const { startSeconds, endSeconds } = page.bench.state.session.region!;
    // A fifth of the plate is a little more than a fifth of the strip.
    expect(endSeconds - startSeconds).toBeGreaterThan(0.35);
    expect(endSeconds - startSeconds).toBeLessThan(0.6);
    expect(endSeconds).toBeLessThan(5.5);
    press(' ');
    await vi.waitFor(() => expect(page.readings.positionSeconds).toBeGreaterThan(startSeconds), slow);
    for (let k = 0; k < 20; k += 1) {
      await new Promise((resolve) => { setTimeout(resolve, 50); });
      expect(page.readings.positionSeconds).toBeGreaterThanOrEqual(startSeconds - 1e-3);
      expect(page.readings.positionSeconds).toBeLessThanOrEqual(endSeconds + 1e-3);
    }
    await vi.waitFor(() => expect(caption(page)).toContain(`From ${startSeconds.toFixed(2)} to ${endSeconds.toFixed(2)} s`), slow);
    press('Escape');
  });
});

describe('the spectrum of what plays', () => {
  it('says that nothing plays, follows the loop, and says when it has stopped', async () => {
    const page = await mounted(mountPlayingPage());
    page.bench.dispatch({ kind: 'open-figure', view: 'spectrum' });
    await vi.waitFor(() => expect(caption(page)).toContain('Nothing plays: press Play'), within);
    press(' ');
    await vi.waitFor(() => expect(caption(page)).toMatch(/^What plays, at the output: strongest at [\d.]+ k?Hz/), slow);
    const line = (): string => deep('plot-area', plate()).shadowRoot!.querySelector('svg')!.innerHTML;
    const before = line();
    await vi.waitFor(() => expect(line()).not.toBe(before), within);
    press('Escape');
    await vi.waitFor(() => expect(caption(page)).toContain('Nothing plays; what played last'), within);
    const still = line();
    await new Promise((resolve) => { setTimeout(resolve, 300); });
    expect(line()).toBe(still);
  });
});
