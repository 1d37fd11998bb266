/** What makes harmonics in a valve common cathode. */
import type { Mechanism } from '../contract.ts';
import { biasShift, linearPart } from '../shared/mechanisms.ts';

export const mechanisms = (): readonly Mechanism[] => [
  linearPart({ id: 'three-halves-law', label: 'three-halves law of V1', sentence: 'The anode current of V1 follows grid and anode along its tangent at rest: no three-halves law, no cut-off.' }, 'anode', 'V1'),
  linearPart({ id: 'grid-current', label: 'grid current of V1', sentence: 'The grid of V1 draws no current, however positive it is driven.' }, 'grid', 'V1'),
  biasShift('CIN', 'CK'),
];
