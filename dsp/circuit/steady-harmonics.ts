/**
 * Harmonics of a steady state from all steps of its instances. What crosses over faster than a sample has harmonics beyond the rate; taken at the samples alone they fold onto the low ones before the rule
 * combines its runs, and a fold does not fall with the square of the step (near class B into 33 Ω at 10 kHz: 0.18 dB of H5). At the instances' own steps that begins two or four times as high. Off the audio thread.
 */
import { harmonicVectors, projectionOf, projectHarmonics } from './frequency.ts';
import type { HarmonicProjection, HarmonicVectors } from './frequency.ts';
import type { InstanceSteadyState, SteadyState } from './steady-state.ts';

/**
 * Mean and harmonics `orders` of the output, absolute volts, the drive being a cosine of `cycles` cycles in the period. Orders from half the program's rate on name their alias at the samples, as in the
 * waveform that the next stage is fed with. Of a circuit that is not stable at rest: none, and its rest.
 */
export function steadyHarmonics({ output, instances }: Pick<SteadyState, 'output' | 'instances'>, cycles: number, orders: readonly number[]): HarmonicProjection {
  if (instances.every(({ subSteps }) => subSteps === 1)) return projectHarmonics(output, cycles, orders);
  const projection = projectionOf(combinedVectors(instances.map((instance) => instanceVectors(instance, cycles, orders))));
  const beyond = orders.flatMap((order, k) => (2 * order * cycles < output.length ? [] : [k]));
  if (beyond.length === 0) return projection;
  const aliases = projectHarmonics(output, cycles, beyond.map((k) => orders[k]!));
  beyond.forEach((k, at) => {
    projection.amplitudes[k] = aliases.amplitudes[at]!;
    projection.phases[k] = aliases.phases[at]!;
  });
  return projection;
}

/** Of one instance, at its own step: its first step lies `subSteps` − 1 steps before the first sample. */
export function instanceVectors({ subSteps, output }: InstanceSteadyState, cycles: number, orders: readonly number[]): HarmonicVectors {
  return harmonicVectors(output, cycles, orders, 1 - subSteps);
}

/** (4 fine − coarse)/3 of a rule of two instances (coarse first), as its waveform is; of one instance its own. */
export function combinedVectors([coarse, fine]: readonly HarmonicVectors[]): HarmonicVectors {
  if (fine === undefined) return coarse!;
  const combined = (fineVolts: number, coarseVolts: number): number => (4 * fineVolts - coarseVolts) / 3;
  return {
    dcVolts: combined(fine.dcVolts, coarse!.dcVolts),
    reals: fine.reals.map((volts, k) => combined(volts, coarse!.reals[k]!)),
    imaginaries: fine.imaginaries.map((volts, k) => combined(volts, coarse!.imaginaries[k]!)),
  };
}
