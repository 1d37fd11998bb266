/** J15: a blind comparison by keys alone, heard through a tap on the output; and a page that tries to find out and cannot. */
import axe from 'axe-core';
import { userEvent } from 'vitest/browser';
import { describe, expect, it, onTestFinished, vi } from 'vitest';
import { allDeep, deep, focused, mountPage, press, wait } from '../page/support.ts';
import type { DrawsReadings } from '../../../ui/page/elements/bench-element.ts';
import { brightness, button, choose, closeEyes, mounted, openBright, rateHz, readOut, tabTo, within } from './support.ts';
import type { Bright } from './support.ts';

/** Hears a token by its key and gives its brightness, once the fade is over. */
async function hear({ tap, regionSeconds }: Bright, key: string): Promise<number> {
  press(key);
  await tap.untilSounding(1e-5);
  const from = tap.nowFrame + Math.round(0.25 * rateHz);
  return brightness(await tap.samples(from, from + Math.round(regionSeconds * rateHz)));
}

/** All that the page is told by workers and audio threads from here on, but for counters (identifiers of answers, frames, where the loop stands) and for what the test's own tap records. */
function overheard(): string[] {
  const said: string[] = [];
  onTestFinished(() => { vi.restoreAllMocks(); });
  const plain = (data: unknown): string => JSON.stringify(data, (name, value: unknown) => (/^(id|frame|positionFrame|pathFrame)$/.test(name) && (typeof value === 'number' || typeof value === 'string') ? 0 : value)) ?? '';
  const add = (data: unknown): void => {
    if (typeof data !== 'object' || data === null || !('samples' in data)) said.push(plain(data));
  };
  for (const source of [Worker.prototype, MessagePort.prototype]) {
    const original = source.addEventListener;
    vi.spyOn(source, 'addEventListener').mockImplementation(function listen(this: Worker | MessagePort, kind: string, listener: EventListenerOrEventListenerObject, ...rest: unknown[]) {
      if (kind === 'message') original.call(this, 'message', (event: Event) => { add((event as MessageEvent<unknown>).data); });
      original.call(this, kind, listener, ...rest as [boolean?]);
    } as typeof original);
  }
  const hears = Object.getOwnPropertyDescriptor(MessagePort.prototype, 'onmessage')!.set!;
  vi.spyOn(MessagePort.prototype, 'onmessage', 'set').mockImplementation(function listen(this: MessagePort, listener: ((event: MessageEvent) => unknown) | null) {
    hears.call(this, listener && ((event: MessageEvent<unknown>) => {
      add(event.data);
      listener.call(this, event);
    }));
  });
  return said;
}

/** Where everything stands that can be seen or reached. */
const geometry = () => JSON.stringify([...sheet().querySelectorAll('h1, button, [role="group"], .count, .truth, .note')].map((element) => {
  const { left, top, width, height } = element.getBoundingClientRect();
  return [element.localName, left, top, width, height];
}));

const sheet = () => deep('blind-sheet').shadowRoot!;
const pageText = () => [document.title, ...allDeep('*').map((element) => `${element.localName} ${Array.from(element.attributes, ({ name, value }) => `${name}=${value}`).join(' ')} ${Array.from(element.childNodes).filter(({ nodeType }) => nodeType === Node.TEXT_NODE).map(({ textContent }) => textContent!.trim()).join(' ')}`)].join('\n');

describe('J15: a blind comparison', () => {
  it('is set up, heard and answered by keys; the page tells nothing; the result is that of a listener who hears', async () => {
    const bright = await openBright();
    const { page } = bright;
    const printed: unknown[] = [];
    for (const method of ['log', 'info', 'warn', 'error', 'debug'] as const) vi.spyOn(console, method).mockImplementation((...words) => { printed.push(words); });
    // Nothing can be seen; what can be reached and read out is as it was.
    closeEyes();
    await tabTo(/^Blind$/);
    await userEvent.keyboard('{Enter}');
    await page.settle();
    expect(allDeep('path-strip, harmonic-ledger, listening-strip, title-line')).toEqual([]);
    expect(readOut()).toBe('Blind comparison');
    await tabTo(/^Trials/);
    await userEvent.keyboard('{Control>}a{/Control}5{Enter}');
    for (const [chooser, option] of [[/^Null trials/, 'none'], [/^Training trials/, '0']] as const) {
      await tabTo(chooser);
      await choose(option);
      await page.settle();
    }
    // Of all seeds one that makes X both A and B within five trials.
    const { blind: setup } = page.bench.state.live;
    if (setup?.kind !== 'setup') throw new Error('no comparison is set up');
    expect(setup.plan).toMatchObject({ task: 'identify', length: { kind: 'fixed', trials: 5, significance: 0.05 }, nullShare: 0, training: 0 });
    page.bench.dispatch({ kind: 'blind-plan', plan: { ...setup.plan, seed: 11 } });
    await page.settle();
    expect(sheet().textContent).toContain('5 hits in 5 are needed.');
    await tabTo(/^Begin$/);
    const said = overheard();
    await userEvent.keyboard('{Enter}');
    await vi.waitFor(() => expect(sheet().querySelector('.count')?.textContent).toBe('trial 1 of 5'), within);
    const resources = performance.getEntriesByType('resource').length;
    const title = document.title;
    const pages: Record<string, Set<string>> = { a: new Set(), b: new Set(), x: new Set() };
    const states = new Set<string>();
    /** By what X was: what the page was told while it was listened to, where all stood, what had the focus. */
    const clues: Record<string, Set<string>> = { traffic: new Set(), places: new Set(), focus: new Set() };
    const correct: string[] = [];
    for (let trial = 1; trial <= 5; trial += 1) {
      const heard: Record<string, number> = {};
      for (const key of ['a', 'b', 'x']) {
        said.length = 0;
        heard[key] = await hear(bright, key);
        // The first trial also makes the audio node; before the first box of a trial a pause ends, whatever X is.
        if (trial > 1 && key !== 'a') clues['traffic']!.add([...new Set(said)].sort().join('\n'));
        clues['places']!.add(geometry());
        clues['focus']!.add(`${focused()?.localName} ${focused()?.className}`);
        expect([...allDeep('[role="status"], [role="alert"]')].map(({ textContent }) => textContent!.trim()).join('')).toBe('');
        pages[key]!.add(pageText().replace(`trial ${trial} of`, 'trial n of'));
        const { blind, ...live } = page.bench.state.live;
        states.add(JSON.stringify({ ...live, blind: { ...blind, progress: null, token: null }, solver: null, playing: null, engine: null, message: null, soundingRevision: null, match: null, harmonics: null, reports: null, headroom: null, interfaced: null }));
        // Meters that move with the sound stand still.
        expect([page.readings.monitorPeakDb[0], page.readings.limiterDb, page.readings.audioLoad]).toEqual([-Infinity, 0, 0]);
      }
      expect(Math.abs(heard['a']! - heard['b']!), 'A and B differ').toBeGreaterThan(2);
      const isA = Math.abs(heard['x']! - heard['a']!) < Math.abs(heard['x']! - heard['b']!);
      correct.push(isA ? '1' : '2');
      press(isA ? '1' : '2');
      if (trial < 5) await vi.waitFor(() => expect(sheet().querySelector('.count')?.textContent).toBe(`trial ${trial + 1} of 5`), within);
    }
    // X was A in some trials and B in others, and the page looked and thought the same in all.
    expect(new Set(correct).size).toBe(2);
    expect(Object.values(pages).map(({ size }) => size)).toEqual([1, 1, 1]);
    expect(states.size).toBe(1);
    expect(Object.entries(clues).map(([what, seen]) => [what, seen.size]), [...clues['traffic']!].join('\n---\n')).toEqual([['traffic', 1], ['places', 1], ['focus', 1]]);
    expect([printed, performance.getEntriesByType('resource').length, document.title]).toEqual([[], resources, title]);
    await vi.waitFor(() => expect(page.bench.state.live.blind?.kind).toBe('ended'), within);
    await page.settle();
    expect(sheet().textContent).toContain('5 hits in 5 trials; by guessing, as many or more come with a chance of 0.0313.');
    expect(sheet().textContent).toContain('At least 5 were needed for 5 %: reached.');
    expect((await axe.run(deep('blind-sheet') as HTMLElement)).violations).toEqual([]);
    expect(readOut(), 'the result has the focus').toBe('5 of 5');
    await tabTo(/^Back to the bench$/);
    await userEvent.keyboard('{Enter}');
    await page.settle();
    expect(allDeep('path-strip')).toHaveLength(1);
    expect(readOut()).toBe('Blind');
  });

  it('is left after one question, and says where it stopped', async () => {
    const { page, tap } = await openBright();
    button('Blind').click();
    await page.settle();
    page.bench.dispatch({ kind: 'blind-plan', plan: { task: 'prefer', length: { kind: 'fixed', trials: 8, significance: 0.05 }, nullShare: 0, training: 0, seed: 3 } });
    await page.settle();
    button('Begin').click();
    await vi.waitFor(() => expect(sheet().querySelector('.count')?.textContent).toBe('trial 1 of 8'), within);
    for (const answer of ['1', '0']) {
      press('a');
      press(answer);
      await wait(150);
    }
    await vi.waitFor(() => expect(sheet().querySelector('.count')?.textContent).toBe('trial 3 of 8'), within);
    const pauseSuggested = async (): Promise<boolean> => {
      await (deep('blind-sheet') as unknown as { readonly updateComplete: Promise<boolean> }).updateComplete;
      return sheet().textContent!.includes('You have listened for more than 20 minutes: make a pause, ears tire.');
    };
    const minutesPass = (minutes: number) => {
      const drawn = deep('blind-sheet') as HTMLElement & DrawsReadings;
      const nowMs = performance.now();
      drawn.drawReadings(page.readings, nowMs);
      drawn.drawReadings(page.readings, nowMs + minutes * 60_000);
    };
    minutesPass(21);
    expect(await pauseSuggested(), 'silence does not tire').toBe(false);
    press('b');
    await page.settle();
    minutesPass(21);
    expect(await pauseSuggested()).toBe(true);
    page.bench.dispatch({ kind: 'pause' });
    await page.settle();
    minutesPass(2);
    expect(await pauseSuggested(), 'too short a pause').toBe(true);
    minutesPass(4);
    expect(await pauseSuggested()).toBe(false);
    press('t');
    await page.settle();
    expect(sheet().querySelector('[role="status"]')!.textContent).toBe('trial 3 of 8');
    press('b');
    await tap.untilSounding(1e-5);
    press('Escape');
    const pressed = tap.pressedAt('Escape');
    const after = await tap.samples(pressed, pressed + rateHz / 4);
    expect((after.findLastIndex((sample) => sample !== 0) + 1) / rateHz, 'seconds of sound after the key').toBeLessThanOrEqual(0.05);
    expect(page.bench.state.live.playing).toBe(false);
    button('Leave').click();
    await page.settle();
    // An answer is not taken while it asks.
    press('1');
    await wait(100);
    expect(page.bench.state.live.blind).toMatchObject({ kind: 'running', leaving: true, progress: { number: 3 } });
    deep('#stop', sheet()).click();
    await vi.waitFor(() => expect(page.bench.state.live.blind?.kind).toBe('ended'), within);
    await page.settle();
    expect(sheet().textContent).toContain('Stopped at 2 of 8');
  });
});

describe('the sheet before it begins', () => {
  it('does not begin where levels are not matched closely, and says why', async () => {
    const page = await mounted(mountPage());
    page.bench.dispatch({ kind: 'matched', revision: page.bench.state.live.revision, match: { kind: 'matched', inGainDb: -1, outGainDb: 0, residualDb: 0.15, waitsForSwitch: false } });
    page.bench.dispatch({ kind: 'blind-setup', seed: 5 });
    await page.settle();
    expect(sheet().querySelector('#why')!.textContent).toBe('0.15 dB are left between the two after matching, more than 0.1 dB: level alone could tell them apart.');
    button('Begin').click();
    await page.settle();
    expect(page.bench.state.live.blind?.kind).toBe('setup');
    page.bench.dispatch({ kind: 'matched', revision: page.bench.state.live.revision, match: { kind: 'matched', inGainDb: -1, outGainDb: 0, residualDb: 0.02, waitsForSwitch: false } });
    await page.settle();
    expect(button('Begin').getAttribute('aria-disabled')).toBe('false');
    expect((await axe.run(deep('blind-sheet') as HTMLElement)).violations).toEqual([]);
  });

  it('says what a plan can show, and refuses one that is none', async () => {
    const page = await mounted(mountPage());
    page.bench.dispatch({ kind: 'blind-setup', seed: 5 });
    await page.settle();
    expect(sheet().textContent).toContain('12 hits in 16 are needed. Someone right in 60 % passes with 17 %, in 70 % with 45 %, in 90 % with 98 %.');
    const length = deep<HTMLSelectElement>('#length', sheet());
    length.value = 'sequential';
    length.dispatchEvent(new Event('change'));
    await page.settle();
    expect(sheet().textContent).toMatch(/Someone who guesses passes with \d\.\d % and needs \d+ trials on average/);
    length.value = 'fixed';
    length.dispatchEvent(new Event('change'));
    await page.settle();
    const trials = deep<HTMLInputElement>('#trials', sheet());
    trials.value = 'many';
    trials.dispatchEvent(new Event('change'));
    await page.settle();
    expect(sheet().querySelector('#why')!.textContent).toBe('trials: expected a whole number from 1 to 100000, got NaN');
  });
});
