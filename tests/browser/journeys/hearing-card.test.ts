import { userEvent } from 'vitest/browser';
import { afterEach, expect, it } from 'vitest';
import { deep, focused, mountPage } from '../page/support.ts';
import type { MountedPage } from '../page/support.ts';

let page: MountedPage;
afterEach(() => page.remove());

const panel = () => deep('hearing-panel').shadowRoot!;
const words = () => panel().textContent!.replace(/\s+/g, ' ');
const hear = (seconds: number, squares: number) => {
  for (let second = 0; second < seconds; second += 1) page.bench.dispatch({ kind: 'heard', seconds: 1, leftSquareSeconds: squares, rightSquareSeconds: squares });
};

it('tells how to calibrate, asks before the noise, takes a reading by keys, and shows the estimate with its limits', async () => {
  page = await mountPage();
  page.bench.dispatch({ kind: 'shelf', shelf: 'listening' });
  await page.settle();
  expect(words()).toContain('Loud sound harms hearing');
  expect(panel().querySelector('#day, #level')).toBeNull();

  panel().querySelector<HTMLElement>('#noise')!.focus();
  await userEvent.keyboard('{Enter}');
  await page.settle();
  expect(focused()?.textContent).toBe('Not now');
  expect(deep('#question', deep('tone-consent').shadowRoot!).textContent).toBe('Noise from 500 Hz to 2 kHz for a sound-level meter, monitor −20 dB.');
  await userEvent.keyboard('{Shift>}{Tab}{/Shift}{Enter}');
  expect(page.bench.state.live).toMatchObject({ tonePlaying: true, tone: { kind: 'noise' } });
  hear(4, 1e-5);
  await page.settle();
  panel().querySelector<HTMLElement>('#reading')!.focus();
  await userEvent.keyboard('loud{Enter}');
  await page.settle();
  expect(panel().querySelector('#refusal')!.textContent).toBe('"loud" is not a reading in dB(A); write 72 or 72.4.');
  await userEvent.keyboard('{Control>}a{/Control}70{Enter}');
  await page.settle();
  expect(page.bench.state.live.tonePlaying).toBe(false);

  page.bench.dispatch({ kind: 'play' });
  hear(3600, 1e-4);
  await page.settle();
  // 80 dB(A) for an hour: of 25.4 hours a day, and of 40 a week.
  expect(words()).toContain('Level now: about 80 dB(A). Today: 4 % of the daily limit');
  expect(panel().querySelector('#week')!.textContent).toContain('3 % of the weekly reference of WHO and ITU, 80 dB(A) for 40 hours, adults');
  await userEvent.selectOptions(panel().querySelector<HTMLElement>('#listener')!, 'a child, or sensitive ears');
  await page.settle();
  expect(panel().querySelector('#week')!.textContent).toContain('8 % of the weekly reference of WHO and ITU, 75 dB(A) for 40 hours');
  expect(words()).toContain('It does not replace a dosemeter');

  panel().querySelector<HTMLElement>('#drop')!.click();
  await page.settle();
  expect(words()).toContain('Last time: 70 dB(A) with the monitor at −20 dB, loudspeakers, 2026-11-25. It is not used');
});
