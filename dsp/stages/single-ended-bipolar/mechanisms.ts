/** What makes harmonics in a bipolar common emitter. */
import type { Mechanism } from '../contract.ts';
import { biasShift, earlyEffect, exponential, saturation } from '../shared/mechanisms.ts';

export const mechanisms = (): readonly Mechanism[] => [
  exponential('exponential', 'exponential of Q1', 'Q1'),
  earlyEffect('early-effect', 'Early effect of Q1', 'Q1'),
  saturation('saturation', 'rail: Q1 saturates', 'Q1'),
  biasShift('CIN', 'CE'),
];
