/** Only what the path adds, heard by one key: what sounds is the signal that is computed off line, raised by the gain on the page; Escape silences it. */
import { describe, expect, it, vi } from 'vitest';
import { decibelsToRatio } from '../../../dsp/math/index.ts';
import { addedOnTrialInSteps, differenceRaiseInSteps } from '../../../dsp/measure/loop/index.ts';
import { planPath } from '../../../dsp/path/index.ts';
import { parseWholeRecording } from '../../../dsp/recording/index.ts';
import { writeSetting } from '../../../dsp/setting/index.ts';
import { differenceSentence } from '../../../ui/page/difference-words.ts';
import { parseLoops } from '../../../ui/page/loops.ts';
import { raiseInForce } from '../../../ui/page/reduce-difference.ts';
import { deep, mountPlayingPage, press } from '../page/support.ts';
import { mounted, OutputTap, peakOf, rateHz, settingOf, within } from './support.ts';

function finished<Result>(steps: Generator<unknown, Result>): Result {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/** Where the loop is found in what was heard: the shift that leaves the least, and what it leaves re what was heard. */
function residual(heard: Float64Array, loop: Float64Array, gain: number): number {
  let least = Infinity;
  for (let shift = 0; shift < loop.length; shift += 1) {
    let [off, whole] = [0, 0];
    for (let i = 0; i < heard.length && off < least * 1e9; i += 1) {
      const expected = gain * loop[(i + shift) % loop.length]!;
      off += (heard[i]! - expected) ** 2;
      whole += heard[i]! ** 2;
      if (i === 200 && off > whole) break;
    }
    least = Math.min(least, off / whole);
  }
  return 10 * Math.log10(least);
}

describe('the difference, heard alone', () => {
  it('is what is computed off line, in step, raised by what the page says; the path comes back with the switch; Escape silences', async () => {
    const tap = new OutputTap();
    const page = await mounted(mountPlayingPage());
    const { bench } = page;
    const plain = settingOf(['harmonic-shaping']);
    const setting = { ...plain, path: { ...plain.path, oversamplingFactor: 2 } } as const;
    bench.dispatch({ kind: 'thaw', text: writeSetting(setting), fileName: 'bent.json' });
    const region = { startSeconds: 0.5, endSeconds: 1 };
    bench.dispatch({ kind: 'region', region });
    bench.dispatch({ kind: 'monitor', monitorDb: 0 });
    await vi.waitFor(() => expect(bench.state.live.match.kind).toBe('matched'), within);
    press('d');
    press(' ');
    await vi.waitFor(() => expect(bench.state.live.difference.phase.kind).toBe('ready'), within);
    const { difference, match } = bench.state.live;
    if (match.kind !== 'matched') throw new Error('expected a match');
    await page.settle();
    expect(differenceSentence(bench.state)).toBe(`Difference: what the whole path adds, raised by ${difference.levels!.chosenDb} dB.`);
    expect(deep('difference-control').shadowRoot!.querySelector('[aria-pressed="true"]')!.textContent).toContain(`raised ${difference.levels!.chosenDb} dB`);
    const from = (await tap.untilSounding(1e-4)) + rateHz / 4;
    const heard = await tap.samples(from, from + 4000);

    const folder = new URL('/demo-audio/', location.href);
    const entries = parseLoops(await (await fetch(new URL('loops.json', folder))).json());
    const { file } = entries.find(({ identifier }) => identifier === bench.state.session.loop)!;
    const { channels } = parseWholeRecording(new Uint8Array(await (await fetch(new URL(file, folder))).arrayBuffer()));
    const loop = channels[0]!.slice(region.startSeconds * rateHz, region.endSeconds * rateHz);
    const gains = { inGain: decibelsToRatio(match.inGainDb), outGain: decibelsToRatio(match.outGainDb) };
    const added = finished(addedOnTrialInSteps(planPath({ ...setting.path, supply: null }, rateHz, {}), [loop], gains));
    expect(finished(differenceRaiseInSteps(added.channels, added.heard, rateHz))).toEqual(difference.levels);
    const db = residual(heard, added.channels[0]!, 10 ** (raiseInForce(difference) / 20));
    // The output is single precision.
    expect(db <= -100, `${db} dB`).toBe(true);

    press('Escape');
    const pressed = tap.pressedAt('Escape');
    const after = await tap.samples(pressed, pressed + rateHz / 5);
    expect((after.findLastIndex((sample) => sample !== 0) + 1) / rateHz, 'seconds of sound after the key').toBeLessThanOrEqual(0.05);
    press('i');
    await page.settle();
    expect(bench.state.live.difference.heard).toBe(false);
    expect(peakOf(heard)).toBeGreaterThan(1e-4);
  });
});
