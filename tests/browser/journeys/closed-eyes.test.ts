/** A comparison with eyes closed: the page cannot be seen, every key is the keyboard's own, and what to press next is known from what is heard and read out. A blind one: `blind.test.ts`. */
import { userEvent } from 'vitest/browser';
import { describe, expect, it, vi } from 'vitest';
import { wait } from '../page/support.ts';
import { brightness, closeEyes, openBright, peakOf, rateHz, readOut, said, within } from './support.ts';
import type { Bright } from './support.ts';

/** What a turn of the region sounds like, once the fade is over. */
async function ear({ tap, regionSeconds }: Bright): Promise<{ readonly brightnessDb: number; readonly peakDb: number }> {
  await tap.untilSounding(1e-5);
  const from = tap.nowFrame + Math.round(0.25 * rateHz);
  const samples = await tap.samples(from, from + Math.round(regionSeconds * rateHz));
  return { brightnessDb: brightness(samples), peakDb: 20 * Math.log10(peakOf(samples)) };
}

describe('with eyes closed', () => {
  it('a comparison is made with T, H, I, O, L, Space and arrows', async () => {
    const bright = await openBright();
    closeEyes();
    const { tap } = bright;
    await userEvent.keyboard('l');
    expect(readOut()).toMatch(/listening surface/i);
    await userEvent.keyboard(' ');
    const inside = await ear(bright);
    const { status } = said();
    await userEvent.keyboard('o');
    const outside = await ear(bright);
    expect(inside.brightnessDb - outside.brightnessDb, 'in and out differ by their treble').toBeGreaterThan(2);
    expect(said().status, 'nothing speaks over the music unasked').toBe(status);
    await userEvent.keyboard('t');
    await vi.waitFor(() => expect(said().status).toMatch(/out of circuit/i), within);
    await userEvent.keyboard('i');
    expect(Math.abs((await ear(bright)).brightnessDb - inside.brightnessDb), 'in again sounds as it did').toBeLessThan(0.3);
    await userEvent.keyboard('t');
    await vi.waitFor(() => expect(said().status).toMatch(/in circuit/i), within);
    expect(said().status).toMatch(/matched/i);
    await wait(1100);
    await userEvent.keyboard('h');
    await vi.waitFor(() => expect(said().status).toMatch(/second|third|H2|harmonic/i), within);

    // Louder by three steps, and heard so.
    const before = await ear(bright);
    await userEvent.keyboard('{ArrowUp}{ArrowUp}{ArrowUp}');
    const after = await ear(bright);
    expect(after.peakDb - before.peakDb).toBeGreaterThan(2.5);
    expect(after.peakDb - before.peakDb).toBeLessThan(3.5);
    // To hear it again.
    await userEvent.keyboard('{ArrowLeft}');
    await ear(bright);
    await userEvent.keyboard(' ');
    const stopped = tap.nowFrame + rateHz / 4;
    expect(peakOf(await tap.samples(stopped, stopped + rateHz / 8))).toBe(0);
  });
});
