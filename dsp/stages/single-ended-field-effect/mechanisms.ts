/** What makes harmonics in a field-effect common source. */
import type { Mechanism } from '../contract.ts';
import { biasShift, linearPart } from '../shared/mechanisms.ts';

export const mechanisms = (): readonly Mechanism[] => [
  linearPart({ id: 'square-law', label: 'square law of J1', sentence: 'The current of J1 follows the gate voltage along its tangent at rest: no square, no cut-off.' }, 'square-law', 'J1'),
  linearPart({
    id: 'channel-modulation', label: 'channel-length modulation of J1',
    sentence: 'The drain voltage of J1 acts through a constant output resistance, not on the current that flows: no product of the two.',
  }, 'modulation', 'J1'),
  linearPart({ id: 'ohmic-region', label: 'rail: J1 leaves pinch-off', sentence: 'J1 stays pinched off at any drain voltage: the drain may pass the source.' }, 'ohmic', 'J1'),
  linearPart({ id: 'gate-current', label: 'gate of J1 conducts', sentence: 'The two junctions of the gate of J1 are taken away.' }, 'gate', 'J1'),
  biasShift('CIN', 'CS'),
];
