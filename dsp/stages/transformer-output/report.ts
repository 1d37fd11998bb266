/** What the output transformer says about itself. */
import type { CircuitStageProgram, StageValues } from '../contract.ts';
import { analyse } from '../shared/analysis.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { bandReadings, drivingCurrent, lengthReadings } from '../shared/transformer-report.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit, ladder } from './circuit.ts';

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  const chain = ladder(values);
  const analysis = analyse(circuit(values, null));
  const lengths = lengthReadings((metres) => ladder(values, metres), v('wantedPeakDb'));
  return {
    readings: [
      ...bandReadings(chain, 1 / v('turnsRatio'), program),
      drivingCurrent(chain),
      ...lengths.readings,
      { label: 'input impedance', value: analysis.inputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz' },
      { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included' },
    ],
    remarks: [...lengths.remarks, { label: 'isolation', words: 'no wire joins the two sides' }],
  };
}
