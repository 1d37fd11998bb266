/** What the output transformer says about itself. */
import type { CircuitStageProgram, StageValues } from '../contract.ts';
import { analyse } from '../shared/analysis.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { coreReadings } from '../shared/transformer-core.ts';
import { bandReadings, drivingCurrent, lengthReadings } from '../shared/transformer-report.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit, designOf, ladder } from './circuit.ts';

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  const chain = ladder(values);
  const analysis = analyse(circuit(values, null));
  const core = coreReadings(designOf(values));
  const lengths = lengthReadings((metres) => ladder(values, metres), v('wantedPeakDb'));
  return {
    readings: [
      ...bandReadings(chain, 1 / v('turnsRatio'), program),
      drivingCurrent(chain),
      ...core.readings,
      ...lengths.readings,
      { label: 'input impedance', value: analysis.inputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz' },
      { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included' },
    ],
    remarks: [...core.remarks, ...lengths.remarks, { label: 'isolation', words: 'no wire joins the two sides' }],
  };
}
