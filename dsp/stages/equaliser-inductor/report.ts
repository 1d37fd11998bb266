/** What this bell is to the reports all bells share. */
import type { StageReading, StageValues } from '../contract.ts';
import type { BellStage } from '../shared/bell-report.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit, leg } from './circuit.ts';

function own(values: StageValues): readonly StageReading[] {
  const v = numbersOf(values);
  const centreHz = 1 / (2 * Math.PI * Math.sqrt(v('coilHenries') * v('seriesFarads')));
  return [
    {
      label: 'Q of the inductor', value: (2 * Math.PI * centreHz * v('coilHenries')) / v('windingOhms'), quantity: 'quality', unit: '',
      note: 'reactance over winding resistance at the centre',
    },
    {
      label: 'resonance of the inductor', value: 1 / (2 * Math.PI * Math.sqrt(v('coilHenries') * v('windingFarads'))), quantity: 'frequency', unit: 'Hz',
      note: 'with its winding capacitance: above it the coil is a capacitor',
    },
  ];
}

export const bell: BellStage = {
  circuit,
  leg,
  places: [{ name: 'U1', role: 'main amplifier', outNode: 'amplifier' }],
  idealIs: 'a perfect amplifier and a coil without capacitance or core',
  own,
};
