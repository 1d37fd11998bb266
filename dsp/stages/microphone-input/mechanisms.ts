/** What makes harmonics in the microphone input. */
import type { Mechanism, StageValues } from '../contract.ts';
import { biasShift, earlyEffect, exponential, opAmpMechanisms, saturation } from '../shared/mechanisms.ts';
import { isTransformer } from './circuit.ts';

/** The input transformer's inductance is linear. */
export const mechanisms = (values: StageValues): readonly Mechanism[] => [
  ...(isTransformer(values) ? [] : [
    exponential('input-pair', 'exponential of the input pair', 'Q1', 'Q2'), earlyEffect('early-effect', 'Early effect of the input pair', 'Q1', 'Q2'), saturation('saturation', 'input pair saturates', 'Q1', 'Q2'),
  ]),
  ...opAmpMechanisms(['U1']),
  ...(isTransformer(values) ? [] : [biasShift('CIN', 'CG')]),
];
