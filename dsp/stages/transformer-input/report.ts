/** What the input transformer says about itself. */
import type { CircuitStageProgram, StageValues } from '../contract.ts';
import { analyse } from '../shared/analysis.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { lineLevelDbu } from '../shared/levels.ts';
import { coreReadings } from '../shared/transformer-core.ts';
import { bandReadings } from '../shared/transformer-report.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit, designOf, ladder } from './circuit.ts';

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  const analysis = analyse(circuit(values, null));
  const core = coreReadings(designOf(values), Number((lineLevelDbu + v('driveDb')).toFixed(1)));
  const square = v('turnsRatio') * v('turnsRatio');
  return {
    readings: [
      ...bandReadings(ladder(values), 1 / v('turnsRatio'), program),
      ...core.readings,
      { label: 'load seen from the source', value: v('loadOhms') * square, quantity: 'resistance', unit: 'Ω', note: 'RL over the square of the step-up' },
      { label: 'source seen from the load', value: (v('sourceOhms') + v('primaryOhms')) / square + v('secondaryOhms'), quantity: 'resistance', unit: 'Ω', note: 'RO and both windings' },
      { label: 'input impedance', value: analysis.inputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, RO included' },
      { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included' },
    ],
    remarks: [...core.remarks, { label: 'isolation', words: 'no wire joins the two sides' }],
  };
}
