import { describe, expect, it, vi } from 'vitest';
import { planSides, renderInSteps } from '../../../dsp/path/index.ts';
import { parseWholeRecording } from '../../../dsp/recording/index.ts';
import type { Setting } from '../../../dsp/setting/index.ts';
import { pairedSettings } from '../../../ui/page/pair.ts';
import { installCompiledCode } from '../../../worklets/compiled-code.ts';
import { deep, mountPlayingPage, press } from '../page/support.ts';
import type { MountedPage } from '../page/support.ts';
import { button, mounted, OutputTap, rateHz, within } from '../journeys/support.ts';

let page: MountedPage;

const live = () => page.bench.state.live;
const boxWords = () => deep('.box').textContent!.trim();
const regionFrames = 0.5 * rateHz;
const monitorGain = 0.1;

/** The region as the loop's file has it. */
async function beginning(): Promise<Float64Array> {
  const { file } = page.root.loops.find(({ identifier }) => identifier === page.bench.state.session.loop)!;
  const bytes = await (await fetch(`/demo-audio/${file}`)).arrayBuffer();
  return parseWholeRecording(new Uint8Array(bytes)).channels[0]!.slice(0, regionFrames);
}

/** One side of the pair as it plays once it has settled to the loop, rendered offline, at the monitor's level. */
function rendered(trialIn: boolean, loop: Float64Array): Float64Array {
  const [first, second] = pairedSettings(page.bench.state)!;
  const match = live().match as { inGainDb: number; outGainDb: number };
  const gains = { inGain: 10 ** (match.inGainDb / 20), outGain: 10 ** (match.outGainDb / 20) };
  const steps = renderInSteps(planSides(first, second, rateHz), [loop], { trialIn, gains, passes: 3, yieldFrames: loop.length });
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value[0]!.map((sample) => monitorGain * sample);
  }
}

/** Largest difference between a turn that was heard and one that is expected, wherever in the turn it began. */
function apart(heard: Float64Array, expected: Float64Array): number {
  let best = Infinity;
  for (let shift = 0; shift < expected.length; shift += 1) {
    let most = 0;
    for (let i = 0; i < heard.length && most < best; i += 61) most = Math.max(most, Math.abs(heard[i]! - expected[(i + shift) % expected.length]!));
    best = Math.min(best, most);
  }
  return best;
}

describe('drafts', () => {
  it('are laid down, put on trial as a pair, heard by I and O as rendered offline, equally loud, and taken up again', async () => {
    installCompiledCode(true);
    const tap = new OutputTap();
    page = await mounted(mountPlayingPage());
    page.bench.dispatch({ kind: 'region', region: { startSeconds: 0, endSeconds: 0.5 } });
    page.bench.dispatch({ kind: 'rate-factor', factor: 2 });
    button('Drafts').click();
    await page.settle();
    button('Lay down in I').click();
    await page.settle();
    page.bench.dispatch({ kind: 'set-value', stageKey: 's3', parameter: 'makeUpDb', value: 6, phase: 'step' });
    page.bench.dispatch({ kind: 'rate-factor', factor: 1 });
    await page.settle();
    button('Lay down in II').click();
    await page.settle();
    page.bench.dispatch({ kind: 'remove-stage', stageKey: 's3' });
    await page.settle();
    button('Put on trial').click();
    await page.settle();
    expect(boxWords()).toBe('Draft I');
    expect(deep('in-out-box').shadowRoot!.textContent).toContain('the bench is not heard');
    await vi.waitFor(() => expect(live().match.kind).toBe('matched'), within);
    // Six decibels louder and nothing else but the factor.
    expect((live().match as { outGainDb: number }).outGainDb).toBeCloseTo(-6, 1);
    press(' ');
    await tap.untilSounding();
    const loop = await beginning();
    for (const trialIn of [true, false]) {
      press(trialIn ? 'i' : 'o');
      await page.settle();
      expect(boxWords()).toBe(trialIn ? 'Draft I' : 'Draft II');
      const from = tap.nowFrame + 2 * regionFrames;
      const heard = await tap.samples(from, from + regionFrames);
      const expected = rendered(trialIn, loop);
      const peak = expected.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
      const off = apart(heard, expected);
      // Single precision, and what coupling capacitors have left to settle after two turns.
      expect(off <= 2e-3 * peak, `${off} of ${peak}`).toBe(true);
    }
    button('Take up II').click();
    await page.settle();
    // What the probe and the match find of it may have come already.
    const asLaidDown = ({ path, title, notes }: Setting) => ({ path, title, notes });
    expect(asLaidDown(page.bench.state.setting)).toEqual(asLaidDown(page.bench.state.session.drafts.II!.setting));
    press('Escape');
  });
});
