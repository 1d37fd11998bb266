// Harmonics of a steady state from all steps of its instances, on waveforms written down rather than solved.
import { describe, expect, it } from 'vitest';
import { chooseFrequency, projectHarmonics, steadyHarmonics } from '../../dsp/circuit/index.ts';
import type { InstanceSteadyState } from '../../dsp/circuit/index.ts';
import { combinedPeriods } from '../../dsp/circuit/periodic-rule.ts';
import { expectWithin } from './support.ts';

const frequency = chooseFrequency(10_000, 384_000);
const { cycles, periodFrames } = frequency;

type Wave = (turns: number) => number;

/** What an instance with `subSteps` steps a sample would put out: its first step is that many less one before sample 0. */
function instanceOf(subSteps: number, wave: Wave): InstanceSteadyState {
  const steps = periodFrames * subSteps;
  const output = Float64Array.from({ length: steps }, (_, k) => wave((cycles * (k + 1 - subSteps)) / steps));
  return { subSteps, output, states: new Float64Array(0), controls: new Float64Array(0), histories: new Float64Array(0), stored: new Float64Array(0), monodromy: null };
}

const steadyOf = (...instances: InstanceSteadyState[]): Parameters<typeof steadyHarmonics>[0] => ({ output: combinedPeriods(instances), instances });

const cosine = (turns: number): number => Math.cos(2 * Math.PI * turns);

describe('harmonics of a steady state', () => {
  const smooth: Wave = (turns) => 12 + 3 * cosine(turns + 0.06) + 0.01 * cosine(2 * turns - 0.3) + 1e-4 * cosine(5 * turns + 0.4);

  it.each([[1], [1, 2], [2, 4], [4]])('are those of a wave that all its runs agree on, phases too: %j steps a sample', (...steps) => {
    const { dcVolts, amplitudes, phases } = steadyHarmonics(steadyOf(...steps.map((subSteps) => instanceOf(subSteps, smooth))), cycles, [1, 2, 3, 5]);
    expectWithin(dcVolts, 12, 1e-13, 'volts');
    [3, 0.01, 0, 1e-4].forEach((volts, k) => expectWithin(amplitudes[k]!, volts, 1e-13, `entry ${k}, volts`));
    expectWithin(phases[0]!, 2 * Math.PI * 0.06, 1e-12, 'radians');
    expectWithin(phases[1]!, -2 * Math.PI * 0.3, 1e-10, 'radians');
    expectWithin(phases[3]!, 2 * Math.PI * 0.4, 1e-8, 'radians');
  });

  it('combine the runs as complex amplitudes, and their means: an error that goes with the square of the step is gone', () => {
    const off = (subSteps: number): Wave => (turns) => smooth(turns) + (0.1 + 0.2 * cosine(turns - 0.2) + 0.3 * cosine(3 * turns)) / subSteps ** 2;
    const { dcVolts, amplitudes, phases } = steadyHarmonics(steadyOf(instanceOf(2, off(2)), instanceOf(4, off(4))), cycles, [1, 3]);
    expectWithin(dcVolts, 12, 1e-13, 'volts');
    expectWithin(amplitudes[0]!, 3, 1e-13, 'volts');
    expectWithin(amplitudes[1]!, 0, 1e-13, 'volts');
    expectWithin(phases[0]!, 2 * Math.PI * 0.06, 1e-12, 'radians');
  });

  it('are free of what folds onto them at the samples', () => {
    // 192 samples a period: order 191 is order 1 there.
    const sharp: Wave = (turns) => smooth(turns) + 1e-3 * cosine(191 * turns);
    const steady = steadyOf(instanceOf(2, sharp), instanceOf(4, sharp));
    expectWithin(projectHarmonics(steady.output, cycles, [1]).amplitudes[0]!, 3 + 1e-3 * cosine(0.06), 1e-7, 'volts, at the samples');
    expectWithin(steadyHarmonics(steady, cycles, [1]).amplitudes[0]!, 3, 1e-13, 'volts');
  });

  it('name the alias at the samples where an order lies beyond half the rate', () => {
    const wave: Wave = (turns) => smooth(turns) + 0.02 * cosine(20 * turns + 0.1);
    const steady = steadyOf(instanceOf(1, smooth), instanceOf(2, wave));
    const { amplitudes, phases } = steadyHarmonics(steady, cycles, [1, 20]);
    const atSamples = projectHarmonics(steady.output, cycles, [20]);
    expectWithin(amplitudes[0]!, 3, 1e-13, 'volts');
    expect([amplitudes[1], phases[1]]).toEqual([atSamples.amplitudes[0], atSamples.phases[0]]);
  });
});
