/** What this bell is to the reports all bells share. */
import type { StageReading, StageValues } from '../contract.ts';
import type { BellStage } from '../shared/bell-report.ts';
import { circuit, leg } from './circuit.ts';

function own(values: StageValues): readonly StageReading[] {
  return [{ label: 'inductance stood for', value: leg(values).henries, quantity: 'inductance', unit: 'H', note: 'RQ · RG · CG' }];
}

export const bell: BellStage = {
  circuit,
  leg,
  places: [{ name: 'U1', role: 'main amplifier', outNode: 'amplifier' }, { name: 'U2', role: 'amplifier that stands for an inductor', outNode: 'gyrator' }],
  idealIs: 'perfect amplifiers and a true inductor',
  own,
};
