/** What makes harmonics in the discrete op-amp, by what each transistor is there for. */
import type { Mechanism, StageValues } from '../contract.ts';
import { earlyEffect, exponential, linearDevices, linearPart, linearPartAndDevices } from '../shared/mechanisms.ts';
import { connectionOf } from '../shared/op-amp-parts.ts';
import { outputKindOf } from './circuit.ts';

export function mechanisms(values: StageValues): readonly Mechanism[] {
  const complementary = outputKindOf(values) === 'complementary';
  const outputs = complementary ? ['Q6', 'Q7'] : ['Q6'];
  const output = complementary
    ? linearPart({
      id: 'crossover', label: 'crossover of the output pair',
      sentence: 'The currents of Q6 and Q7 follow their base–emitter voltages along their tangents at rest: neither hands over to the other, neither cuts off.',
    }, 'exponential', ...outputs)
    : exponential('output-follower', 'exponential of the output follower', ...outputs);
  return [
    linearPart({
      id: 'slewing', label: 'slewing input pair', sentence: 'Q1 and Q2 share the tail along their tangents at rest: no exponential, and no limit to what charges the compensation from here.',
    }, 'exponential', 'Q1', 'Q2'),
    exponential('mirror', 'exponential of the mirror', 'Q3', 'Q4'),
    exponential('second-stage', 'exponential of the second stage', 'Q5'),
    output,
    earlyEffect('early-second', 'Early effect of the second stage', 'Q5'),
    earlyEffect('early-first', 'Early effect of pair and mirror', 'Q1', 'Q2', 'Q3', 'Q4'),
    earlyEffect('early-output', 'Early effect of the output', ...outputs),
    linearPartAndDevices({
      id: 'rails', label: 'rails and sink limit', sentence: 'No transistor saturates, and the second stage\'s sink goes on at any voltage: nothing stops the output at a rail.',
    }, 'saturation', ['Q1', 'Q2', 'Q3', 'Q4', 'Q5', ...outputs], ['D1']),
    ...(connectionOf(values) === 'inverting'
      ? [linearDevices({ id: 'input-limiter', label: 'diodes at the inverting input', sentence: 'The diodes that hold the inverting input are taken away.' }, 'L1 rise diode', 'L1 fall diode')] : []),
  ];
}
