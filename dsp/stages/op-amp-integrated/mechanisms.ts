/** What makes harmonics in the integrated op-amp. */
import type { Mechanism } from '../contract.ts';
import { earlyEffect, exponential, linearDevices, linearPart, linearPartAndDevices } from '../shared/mechanisms.ts';

export const mechanisms = (): readonly Mechanism[] => [
  linearDevices({ id: 'slewing', label: 'slewing input pair', sentence: 'The input pair steers without limit along its slope at rest: no tanh, no slew rate.' }, 'G1 pair'),
  exponential('second-stage', 'exponential of the second stage', 'Q1'),
  earlyEffect('early-second', 'Early effect of the second stage', 'Q1'),
  linearPart({
    id: 'crossover', label: 'crossover of the output pair',
    sentence: 'The currents of Q2 and Q3 follow their base–emitter voltages along their tangents at rest: neither hands over to the other, neither cuts off.',
  }, 'exponential', 'Q2', 'Q3'),
  earlyEffect('early-output', 'Early effect of the output pair', 'Q2', 'Q3'),
  linearPartAndDevices({
    id: 'rails', label: 'rails: clamps and saturation', sentence: 'The clamps of both inner nodes are taken away and no transistor saturates: nothing stops the output at a rail.',
  }, 'saturation', ['Q1', 'Q2', 'Q3'], ['L1 rise diode', 'L1 fall diode', 'L2 rise diode', 'L2 fall diode']),
  linearDevices({ id: 'current-limit', label: 'output current limit', sentence: 'The diodes that divert the drive at the current limit are taken away.' }, 'L3 rise diode', 'L3 fall diode'),
];
