/** What the integrated op-amp stage says about itself at rest. */
import type { CircuitStageProgram, OutputNetwork, StageValues } from '../contract.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { opAmpOutputNetwork } from '../shared/op-amp-network.ts';
import { describeOpAmp, refuseOscillation } from '../shared/op-amp-report.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit, refuseSwing } from './circuit.ts';

/** What the pair needs beyond its degeneration to be steered to one side, V: ten thermal voltages. */
const steeringVolts = 0.26;

export const refuse = (values: StageValues): string | null => refuseSwing(values) ?? refuseOscillation(values, circuit(values, null));

export const outputNetwork = (values: StageValues): OutputNetwork => opAmpOutputNetwork(values, circuit(values, null));

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  return describeOpAmp(values, program, {
    document: circuit(values, null),
    slewingFarads: v('compensationFarads'),
    steeringVolts: v('tailAmperes') * v('degenerationOhms') + steeringVolts,
    pushAmperes: v('limitAmperes'),
    pullAmperes: v('limitAmperes'),
    limitName: 'the current limit',
    limitAdvice: 'a lighter load, or a higher limit, leaves the swing to the rails',
    // One side carries the sum until the other is off.
    classAAmperes: 2 * v('quiescentAmperes'),
  });
}
