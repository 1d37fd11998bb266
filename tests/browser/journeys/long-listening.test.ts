/** A long listening of one pair, each sitting of a very short programme, by keys; the page is told nothing until the second is written down. */
import axe from 'axe-core';
import { describe, expect, it, vi } from 'vitest';
import { sittingSides } from '../../../dsp/listening/index.ts';
import { parseLongListening } from '../../../dsp/setting/index.ts';
import { storeAll } from '../../../ui/page/store.ts';
import { allDeep, deep, focused, mountPlayingPage, press } from '../page/support.ts';
import { button, mounted, OutputTap, settingOf, within } from './support.ts';
import { writeSetting } from '../../../dsp/setting/index.ts';
import { defaultValues, stageById } from '../../../dsp/stages/index.ts';

const sheet = () => deep('sitting-sheet').shadowRoot!;

/** As a hand chooses it. */
function choose(selector: string): void {
  const input = deep<HTMLInputElement>(selector, sheet());
  input.checked = true;
  input.dispatchEvent(new Event('change'));
}

describe('a long listening', () => {
  it('is planned, heard twice under one side each, written down, revealed; the bench is as it was', async () => {
    const tap = new OutputTap();
    const page = await mounted(mountPlayingPage());
    const setting = settingOf(['equaliser']);
    const values = { ...defaultValues(stageById('equaliser')), section1Kind: 'bell', section1Hz: 2000, section1Db: 15, section1Quality: 0.7 };
    page.bench.dispatch({ kind: 'thaw', text: writeSetting({ ...setting, path: { ...setting.path, stages: [{ ...setting.path.stages[0]!, values }] } }), fileName: 'bright.json' });
    page.bench.dispatch({ kind: 'region', region: { startSeconds: 0.2, endSeconds: 0.65 } });
    await vi.waitFor(() => expect(page.readings.loopSeconds).toBeGreaterThan(1), within);
    await vi.waitFor(() => expect(page.bench.state.live.match.kind).toBe('matched'), within);
    page.bench.dispatch({ kind: 'long-choice', choice: { pairs: 1, question: 'told-apart', significance: 0.05 } });
    page.bench.dispatch({ kind: 'long-plan', id: 'test', seed: 12, date: '2026-11-26' });
    page.bench.dispatch({ kind: 'shelf', shelf: 'listening' });
    await page.settle();
    const before = page.bench.state;
    const sounds: Float64Array[] = [];
    for (const sitting of [1, 2]) {
      await vi.waitFor(() => expect(allDeep('#sit')).toHaveLength(1), within);
      deep('#sit').click();
      await page.settle();
      expect(allDeep('path-strip, harmonic-ledger, listening-strip, title-line, in-out-box')).toEqual([]);
      expect(focused()?.textContent).toBe(`Sitting ${sitting} of 2`);
      await vi.waitFor(() => expect(deep('#play', sheet()).getAttribute('aria-disabled')).toBe('false'), within);
      if (sitting === 1) expect((await axe.run(deep('sitting-sheet') as HTMLElement)).violations).toEqual([]);
      press(' ');
      await tap.untilSounding(1e-5);
      const from = tap.nowFrame;
      await vi.waitFor(() => expect(page.bench.state.live.long.sitting?.phase).toBe('log'), within);
      sounds.push(await tap.samples(from, from + 9600));
      expect(JSON.stringify(page.bench.state.live.long)).not.toMatch(/"(side|trialIn|was)":(0|1|false)/);
      await page.settle();
      deep('#write', sheet()).click();
      await page.settle();
      expect(deep('#lacks', sheet()).textContent).toBe('Still to choose: how easy it was, how tired your ears are, which one it was.');
      choose('input[name="ease"]');
      choose('input[name="fatigue"]');
      choose('input[name="believed"]');
      await page.settle();
      if (sitting === 2) expect((await axe.run(deep('sitting-sheet') as HTMLElement)).violations).toEqual([]);
      deep('#write', sheet()).click();
      await page.settle();
    }
    const { setting: after, session } = page.bench.state;
    expect([after, session.region]).toEqual([before.setting, before.session.region]);
    // The two sittings did not sound alike, in the order that the seed gives.
    const brightness = sounds.map((samples) => samples.reduce((sum, sample, i) => sum + (sample - (samples[i - 1] ?? 0)) ** 2, 0) / samples.reduce((sum, sample) => sum + sample ** 2, 0));
    const [first] = sittingSides({ pairs: 1, question: 'told-apart', significance: 0.05, seed: 12 });
    expect(brightness[first === 0 ? 0 : 1]!).toBeGreaterThan(1.2 * brightness[first === 0 ? 1 : 0]!);
    const panel = deep('long-listening-panel').shadowRoot!;
    expect(panel.querySelector('.result')!.textContent).toContain('both were believed the same, which says nothing');
    expect((await axe.run(deep('long-listening-panel') as HTMLElement)).violations).toEqual([]);
    await vi.waitFor(async () => expect(parseLongListening(String((await storeAll('sittings')).get('test'))).listening.sittings).toHaveLength(2), within);
    button('Remove').click();
    await vi.waitFor(async () => expect((await storeAll('sittings')).has('test')).toBe(false), within);
  });
});
