import { describe, expect, it } from 'vitest';
import { heapGrowth } from '../support/heap-growth.ts';
import { audibleBandHz, integrateDensity, noiseFrequencies } from '../../dsp/circuit/index.ts';
import { PathRunner, plannedCircuit, planPath, supply, type PathPlan, type PathSetting } from '../../dsp/path/index.ts';
import { NoiseAdder } from '../../dsp/path/noise-adder.ts';
import { analyseNoise, analyseRails, ownDensity } from '../../dsp/path/noise-analysis.ts';
import { rippleAtOutput, rippleOrders, sharedImpedance, sharedRails } from '../../dsp/path/noise-supply.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { bandSquare, measureDensity } from '../support/noise-density.ts';
import { componentPeak, firstDifference, nominalPeak, pathOf, plucked, rateHz, renderAll, renderInPieces, sine } from './support.ts';

const supplyWith = (values: StageValues): StageValues => ({ ...Object.fromEntries(supply.parameters.map(({ id, default: value }) => [id, value])), ...values });
const noisy = supplyWith({ noise: 'noise-alone' });
const rippling = supplyWith({ noise: 'ripple-alone' });

const planOf = (setting: PathSetting): PathPlan => planPath(setting, rateHz);
const silence = (seconds: number): Float64Array => new Float64Array(Math.round(seconds * rateHz));

/** Volts of samples, with the bench's calibration at +24 dBu. */
const samplePeakVolts = Math.SQRT2 * Math.sqrt(0.6) * 10 ** (24 / 20);

describe('noise off', () => {
  it('leaves every bit as it is without a supply', () => {
    const path = pathOf(['single-ended-bipolar', 'harmonic-shaping', 'push-pull']);
    const input = plucked(4800);
    const plain = renderAll(planOf(path), [input])[0]!;
    const off = planOf({ ...path, supply: supplyWith({ noise: 'off' }) });
    expect(off.stages.every(({ noise }) => noise === undefined)).toBe(true);
    expect(firstDifference(renderAll(off, [input])[0]!, plain)).toBe(-1);
  });
});

describe('noise in a running path', () => {
  it.each(['single-ended-bipolar', 'single-ended-field-effect', 'single-ended-valve', 'push-pull'])('of %s has the level that the analysis says, within 0.3 dB', (stage) => {
    const setting = pathOf([stage], { supply: noisy });
    const plan = planOf(setting);
    expect(plan.stages[0]!.noise!.shape!.errorDb).toBeLessThan(0.15);
    const program = plan.stages[0]!.wired.program;
    const gain = program.kind === 'circuit' ? program.outputGain : NaN;
    const document = plannedCircuit(setting, plan.stages[0]!)!;
    const [output] = renderAll(plan, [silence(5)]);
    const heard = measureDensity(output!.subarray(rateHz / 2), rateHz, 32_768);
    // Three bands, so that the slope counts: the lowest is where 1/f is.
    for (const [low, high] of [[40, 400], [400, 4000], [4000, 19_000]] as const) {
      const hz = noiseFrequencies(low, high, 40);
      const expected = gain * gain * integrateDensity(hz, ownDensity(analyseNoise(document, hz, 27)));
      // 4.5 s of 360 Hz: about 3200 degrees of freedom, 0.11 dB of chance.
      const offDb = 10 * Math.log10((bandSquare(heard, low, high) * samplePeakVolts * samplePeakVolts) / expected);
      expect(!(Math.abs(offDb) <= 0.3) ? `${low} to ${high} Hz: ${offDb} dB` : 'within').toBe('within');
    }
  });

  it('is its own on each channel, as strong at every factor, and another for another seed', () => {
    const path = pathOf(['single-ended-bipolar'], { supply: noisy });
    const [left, right] = renderAll(planOf(path), [silence(0.2), silence(0.2)]) as [Float64Array, Float64Array];
    let [both, one, two] = [0, 0, 0];
    for (let i = 0; i < left.length; i += 1) {
      both += left[i]! * right[i]!;
      one += left[i]! ** 2;
      two += right[i]! ** 2;
    }
    expect(one).toBeGreaterThan(0);
    expect(!(Math.abs(both) <= 0.15 * Math.sqrt(one * two))).toBe(false);
    const [again] = renderAll(planOf(path), [silence(0.2)]) as [Float64Array];
    expect(firstDifference(again, left)).toBe(-1);
    const [other] = renderAll(planOf({ ...path, supply: { ...noisy, seed: 2 } }), [silence(0.2)]) as [Float64Array];
    expect(firstDifference(other, left)).toBeLessThan(200);
    const [slower] = renderAll(planOf({ ...path, oversamplingFactor: 4 }), [silence(0.2)]) as [Float64Array];
    // The same numbers through another ladder: what differs is the rest of a delay and what passes above 20 kHz.
    const strength = slower.reduce((sum, x) => sum + x * x, 0);
    expect(!(Math.abs(strength / one - 1) <= 0.03)).toBe(false);
  });

  it('knows nothing of blocks, and begins again at a reset', () => {
    const path = pathOf(['single-ended-bipolar', 'push-pull'], { supply: supplyWith({ noise: 'on' }) });
    const input = plucked(3000);
    const whole = renderAll(planOf(path), [input])[0]!;
    expect(firstDifference(renderInPieces(planOf(path), input, [1, 300, 17, 64]), whole)).toBe(-1);
    const runner = new PathRunner(planOf(path), 1, 512);
    const outputs = [0, 1].map(() => {
      const output = new Float64Array(2000);
      runner.reset();
      runner.process([input.subarray(0, 2000)], [output], 2000);
      return output;
    });
    expect(firstDifference(outputs[0]!, outputs[1]!)).toBe(-1);
  });

  it('goes on through changes of value and of order without a gap or a jump', () => {
    const path = pathOf(['single-ended-bipolar', 'push-pull'], { supply: supplyWith({ noise: 'on', seed: 3 }) });
    const hotter = { ...path, supply: supplyWith({ noise: 'on', seed: 3, temperatureC: 28 }) };
    const swapped = { ...path, stages: [...path.stages].reverse() };
    const frames = rateHz / 2;
    const played = (next: PathSetting | null): Float64Array => {
      const runner = new PathRunner(planOf(path), 1, 256);
      const output = new Float64Array(frames);
      for (let at = 0; at < frames; at += 256) {
        if (next !== null && at === 12_032) runner.swap(planOf(next));
        const count = Math.min(256, frames - at);
        runner.process([new Float64Array(count)], [output.subarray(at, at + count)], count);
      }
      return output;
    };
    const plain = played(null);
    const peak = plain.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
    const warmer = played(hotter);
    // 1 K more is 0.014 dB of thermal noise: the same stream goes on.
    expect(!(warmer.reduce((most, x, i) => Math.max(most, Math.abs(x - plain[i]!)), 0) <= 0.02 * peak)).toBe(false);
    const turned = played(swapped).subarray(20_000);
    expect(turned.reduce((most, x) => Math.max(most, Math.abs(x)), 0)).toBeLessThan(3 * peak);
    expect(turned.reduce((sum, x) => sum + x * x, 0)).toBeGreaterThan(0);
  });

  it('adds nothing of its own in shaping stages and equalisers', () => {
    const plan = planOf(pathOf(['harmonic-shaping', 'equaliser'], { supply: supplyWith({ noise: 'on' }) }));
    expect(plan.stages.map(({ noise }) => noise)).toEqual([undefined, undefined]);
  });

  it('does not count what a stage is wired to a second time', () => {
    const setting = pathOf(['single-ended-bipolar', 'push-pull'], { supply: noisy });
    const plan = planOf(setting);
    const document = plannedCircuit(setting, plan.stages[1]!)!;
    const names = analyseNoise(document, [1000], 27).contributors.map(({ component }) => component);
    expect(names.some((name) => name.startsWith('previous '))).toBe(true);
    const noise = analyseNoise(document, [1000], 27);
    const previous = noise.contributors.filter(({ component }) => component.startsWith('previous ')).reduce((sum, { density }) => sum + density[0]!, 0);
    expect(!(Math.abs(ownDensity(noise)[0]! + previous - noise.density[0]!) <= 1e-12 * noise.density[0]!)).toBe(false);
  });
});

describe('what is added to a block', () => {
  it('costs no memory', async () => {
    const plan = planOf(pathOf(['single-ended-bipolar'], { supply: supplyWith({ noise: 'on' }) }));
    const adder = new NoiseAdder(plan.stages[0]!.noise!, 2, 8);
    const channels = [new Float64Array(1024), new Float64Array(1024)];
    // One boxed number a sample would be 100 · 1024 · 12 bytes or more.
    const enough = 50_000;
    expect(await heapGrowth(() => adder.add(channels, 1024), { warmUp: 2000, blocks: 100, enough }), 'bytes in 100 blocks').toBeLessThan(enough);
  });
});

describe('the supply that all stages share', () => {
  const setting = pathOf(['single-ended-bipolar', 'single-ended-field-effect', 'push-pull'], { supply: rippling });

  it('carries ripple and sag of the sum of what they draw', () => {
    const plan = planOf(setting);
    const circuits = plan.stages.map((stage) => analyseRails(plannedCircuit(setting, stage)!, Array.from({ length: rippleOrders }, (_, k) => 100 * (k + 1))));
    const values = supplyWith({ noise: 'on', reservoirFarads: 1e-3, regulationDb: 0, supplyOhms: 2 });
    const shared = sharedRails(values, circuits);
    const drawn = new Map<number, number>();
    for (const rail of circuits.flat()) drawn.set(rail.volts, (drawn.get(rail.volts) ?? 0) + rail.amperes);
    expect(shared.map(({ volts }) => volts)).toEqual([...drawn.keys()]);
    for (const { volts, amperes, rippleVolts, sagVolts } of shared) {
      expect(amperes).toBe(drawn.get(volts));
      // I/(f C) peak to peak; half of it below the peak on the mean, and I · 2 Ω.
      expect(rippleVolts).toBeCloseTo(amperes / (100 * 1e-3), 12);
      expect(sagVolts).toBeCloseTo(amperes / (100 * 1e-3) / 2 + 2 * amperes, 12);
    }
    const [unregulated, regulated] = [values, { ...values, regulationDb: 40 }].map((each) => sharedRails(each, circuits)[0]!.rippleVolts);
    expect(regulated! / unregulated!).toBeCloseTo(0.01, 10);
  });

  it('has the reservoir\'s impedance and the wiring\'s', () => {
    const values = supplyWith({ reservoirFarads: 1e-3, regulationDb: 0, supplyOhms: 0.5 });
    const rectifier = 1 / (2 * 100 * 1e-3);
    expect(sharedImpedance(values, 1e-6).re).toBeCloseTo(0.5 + rectifier, 6);
    const high = sharedImpedance(values, 10_000);
    expect(high.re).toBeCloseTo(0.5, 3);
    expect(high.im).toBeCloseTo(-1 / (2 * Math.PI * 10_000 * 1e-3), 5);
  });

  it('is heard at each stage\'s output through that stage\'s own rejection, harmonic by harmonic', () => {
    const alone = pathOf(['single-ended-bipolar'], { supply: { ...rippling, regulationDb: 20 } });
    const plan = planOf(alone);
    const hz = Array.from({ length: rippleOrders }, (_, k) => 100 * (k + 1));
    const rails = analyseRails(plannedCircuit(alone, plan.stages[0]!)!, hz);
    const { program } = plan.stages[0]!.wired;
    const gain = program.kind === 'circuit' ? program.outputGain : NaN;
    const ripple = rails[0]!.amperes / (100 * 2.2e-3) / 10;
    const [output] = renderAll(plan, [silence(0.5)]);
    const window = output!.subarray(rateHz / 4, rateHz / 4 + rateHz / 10);
    for (const order of [1, 2, 5, 20]) {
      const { re, im } = rails[0]!.toOutput[order - 1]!;
      const expected = (gain * ripple * Math.hypot(re, im)) / (Math.PI * order);
      const got = componentPeak(window, 10 * order) * samplePeakVolts;
      // 1e-3: the ladder's ripple and what is left of its start.
      expect(!(Math.abs(got / expected - 1) <= 1e-3) ? `order ${order}: got ${got}, expected ${expected}` : 'near').toBe('near');
    }
    expect(!(componentPeak(window, 15) <= 1e-6 * componentPeak(window, 10))).toBe(false);
  });

  it('grows at one stage with what another draws', () => {
    const peakOf = (path: PathSetting): number => {
      const [output] = renderAll(planOf(path), [silence(0.3)]);
      return componentPeak(output!.subarray(rateHz / 5, rateHz / 5 + rateHz / 10), 10);
    };
    const one = pathOf(['single-ended-bipolar'], { supply: rippling });
    const voltsOf = (id: string): number => one.stages[0]!.values[id] as number;
    const twice = pathOf([{ stage: 'single-ended-bipolar', values: { makeUpDb: -60 } }, { stage: 'single-ended-bipolar' }], { supply: rippling });
    expect(voltsOf('supplyVolts')).toBeGreaterThan(0);
    // The second stage alone is heard, and its rail carries twice the current: 6.02 dB, but for what the first still lets through 60 dB down and the load on it.
    expect(20 * Math.log10(peakOf(twice) / peakOf(one))).toBeCloseTo(6.02, 0);
  });

  it('mirrors on a negative rail: what is alike on both cancels in a pair', () => {
    const { stages: [stage] } = planOf(pathOf(['push-pull']));
    const rails = analyseRails(plannedCircuit(pathOf(['push-pull']), stage!)!, Array.from({ length: rippleOrders }, (_, k) => 100 * (k + 1)));
    const shared = sharedRails({ ...rippling, regulationDb: 0 }, [rails]);
    const together = rippleAtOutput(shared, rails, 1)[0]!;
    const upper = rippleAtOutput(shared, rails.slice(0, 1), 1)[0]!;
    expect(Math.abs(together.sinePeakVolts)).toBeLessThan(0.05 * Math.abs(upper.sinePeakVolts));
  });
});

describe('signal and noise', () => {
  it('noise is added to the signal and changes nothing else', () => {
    const path = pathOf(['single-ended-bipolar']);
    const tone = sine(1000, nominalPeak, rateHz / 2);
    const [plain] = renderAll(planOf(path), [tone]);
    const [withNoise] = renderAll(planOf({ ...path, supply: noisy }), [tone]);
    const [alone] = renderAll(planOf({ ...path, supply: noisy }), [silence(0.5)]);
    const [rest] = renderAll(planOf(path), [silence(0.5)]);
    let worst = 0;
    for (let i = 0; i < tone.length; i += 1) worst = Math.max(worst, Math.abs(withNoise![i]! - plain![i]! - (alone![i]! - rest![i]!)));
    expect(!(worst <= 1e-15)).toBe(false);
  });

  it('band: the audible one is 20 Hz to 20 kHz', () => {
    expect(audibleBandHz).toEqual([20, 20_000]);
  });
});
