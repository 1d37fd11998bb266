/** PAGE's journey with eyes closed: the page cannot be seen, every key is the keyboard's own, and what to press next is known from what is heard and what is read out. */
import { userEvent } from 'vitest/browser';
import { describe, expect, it, onTestFinished, vi } from 'vitest';
import { allDeep, deep, focused, wait } from '../page/support.ts';
import { brightness, openBright, peakOf, rateHz, said, within } from './support.ts';
import type { Bright } from './support.ts';

async function open(): ReturnType<typeof openBright> {
  const bright = await openBright();
  // Nothing can be seen; what can be reached and read out is as it was.
  document.documentElement.style.opacity = '0';
  onTestFinished(() => { document.documentElement.style.opacity = ''; });
  return bright;
}

/** What a turn of the region sounds like, once the fade is over. */
async function ear({ tap, regionSeconds }: Bright): Promise<{ readonly brightnessDb: number; readonly peakDb: number }> {
  await tap.untilSounding(1e-5);
  const from = tap.nowFrame + Math.round(0.25 * rateHz);
  const samples = await tap.samples(from, from + Math.round(regionSeconds * rateHz));
  return { brightnessDb: brightness(samples), peakDb: 20 * Math.log10(peakOf(samples)) };
}

/** Name of what has the focus, as it would be read out. */
function readOut(): string {
  const element = focused() as HTMLInputElement | null;
  const labelled = element?.getAttribute('aria-label') ?? element?.labels?.[0]?.textContent ?? element?.textContent ?? '';
  return labelled.replace(/\s+/g, ' ').trim();
}

/** By Tab alone. */
async function tabTo(name: RegExp): Promise<void> {
  const passed: string[] = [];
  while (!name.test(readOut())) {
    passed.push(readOut());
    if (passed.length > 120) throw new Error(`Tab does not come to ${name}; it came to ${passed.join(' | ')}`);
    await userEvent.tab();
  }
}

/** By arrows, in the chooser that has the focus. */
async function choose(option: string): Promise<void> {
  const chooser = focused() as HTMLSelectElement;
  for (let step = 0; step < 10 && chooser.selectedOptions[0]!.text !== option; step += 1) await userEvent.keyboard('{ArrowUp}');
  expect(chooser.selectedOptions[0]!.text).toBe(option);
}

describe('with eyes closed', () => {
  it('a comparison is made with T, H, I, O, L, Space and arrows', async () => {
    const bright = await open();
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

  it('a blind comparison is begun, heard, answered and read by keys', async () => {
    const bright = await open();
    const { page } = bright;
    await tabTo(/^Blind$/);
    await userEvent.keyboard('{Enter}');
    await page.settle();
    expect(readOut()).toBe('Blind comparison');
    await tabTo(/^Trials/);
    await userEvent.keyboard('{Control>}a{/Control}5{Enter}');
    await page.settle();
    for (const [name, option] of [[/^Null trials/, 'none'], [/^Training trials/, '0']] as const) {
      await tabTo(name);
      await choose(option);
      await page.settle();
    }
    await tabTo(/^Begin$/);
    await userEvent.keyboard('{Enter}');
    await vi.waitFor(() => expect(readOut()).toBe('Which one is X?'), within);
    const sheet = () => deep('blind-sheet').shadowRoot!;
    const told = () => deep('[role="status"]', sheet()).textContent!.trim();
    for (let trial = 1; trial <= 5; trial += 1) {
      const heard: Record<string, number> = {};
      for (const key of ['a', 'b', 'x']) {
        await userEvent.keyboard(key);
        heard[key] = (await ear(bright)).brightnessDb;
      }
      await userEvent.keyboard('t');
      await vi.waitFor(() => expect(told()).toBe(`trial ${trial} of 5`), within);
      await userEvent.keyboard(Math.abs(heard['x']! - heard['a']!) < Math.abs(heard['x']! - heard['b']!) ? '1' : '2');
      await wait(150);
    }
    // The result takes the focus, and is read from there on.
    await vi.waitFor(() => expect(readOut()).toBe('5 of 5'), within);
    expect(allDeep('main p', sheet()).map(({ textContent }) => textContent).join(' ')).toContain('At least 5 were needed for 5 %: reached.');
    await tabTo(/^Back to the bench$/);
    await userEvent.keyboard('{Enter}');
    await page.settle();
    expect(readOut()).toBe('Blind');
  });
});
