/** What makes harmonics in the push-pull stage: the pair as one, since neither half is heard alone. */
import type { Mechanism, StageValues } from '../contract.ts';
import { earlyEffect, linearDevices, linearPart, saturation } from '../shared/mechanisms.ts';
import { isHeated } from './thermal.ts';

export const mechanisms = (values: StageValues): readonly Mechanism[] => [
  linearPart({
    id: 'crossover', label: 'crossover of the output pair',
    sentence: 'The currents of Q1 and Q2 follow their base–emitter voltages along their tangents at rest: neither hands over to the other, neither cuts off.',
  }, 'exponential', 'Q1', 'Q2'),
  earlyEffect('early-effect', 'Early effect of the output pair', 'Q1', 'Q2'),
  linearDevices({ id: 'drive-limit', label: 'base drive limit', sentence: 'The diodes D1 and D2 that hold the bases at the drive limit are taken away.' }, 'D1', 'D2'),
  saturation('saturation', 'rails: Q1 and Q2 saturate', 'Q1', 'Q2'),
  ...(isHeated(values) ? [linearDevices({
    id: 'heat', label: 'heat of the pair',
    sentence: 'The power that heats Q1 and Q2 follows the signal in proportion: no mean heating by the programme, so no drift of the bias.',
  }, 'P1', 'P2')] : []),
];
