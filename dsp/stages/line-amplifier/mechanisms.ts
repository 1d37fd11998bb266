/** What makes harmonics in the line amplifier. */
import type { Mechanism, StageValues } from '../contract.ts';
import { biasShift, coreOfWinding, earlyEffect, exponential, saturation } from '../shared/mechanisms.ts';
import { coreDesign } from './circuit.ts';

export const mechanisms = (values: StageValues): readonly Mechanism[] => [
  exponential('first', 'exponential of Q1', 'Q1'),
  exponential('second', 'exponential of Q2', 'Q2'),
  exponential('output', 'exponential of the output device', 'Q3'),
  earlyEffect('early-effect', 'Early effect of Q1, Q2 and Q3', 'Q1', 'Q2', 'Q3'),
  saturation('saturation', 'rail: Q1, Q2 or Q3 saturates', 'Q1', 'Q2', 'Q3'),
  ...(coreDesign(values).core === null ? [] : [coreOfWinding('LM')]),
  biasShift('CIN', 'CE1', 'CG'),
];
