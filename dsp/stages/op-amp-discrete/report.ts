/** What the discrete op-amp stage says about itself at rest. */
import type { CircuitStageProgram, OutputNetwork, StageValues } from '../contract.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { opAmpOutputNetwork } from '../shared/op-amp-network.ts';
import { describeOpAmp, refuseOscillation } from '../shared/op-amp-report.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit, collectorFarads, outputBeta, outputKindOf } from './circuit.ts';

/** What the pair needs beyond its degeneration to be steered to one side, V: ten thermal voltages. */
const steeringVolts = 0.26;

export const refuse = (values: StageValues): string | null => refuseOscillation(values, circuit(values, null));

export const outputNetwork = (values: StageValues): OutputNetwork => opAmpOutputNetwork(values, circuit(values, null));

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  const idle = v('idleAmperes');
  const single = outputKindOf(values) === 'class-a';
  // The second stage's sink is what a follower's base can be given.
  const driven = v('secondStageAmperes') * (outputBeta + 1);
  return describeOpAmp(values, program, {
    document: circuit(values, null),
    slewingFarads: v('compensationFarads') + collectorFarads,
    steeringVolts: v('tailAmperes') * v('degenerationOhms') + steeringVolts,
    pushAmperes: driven,
    pullAmperes: single ? idle : driven,
    limitName: single ? 'the sink' : 'the second stage',
    limitAdvice: single ? 'the idle current must exceed the peak current of load and line, else this is the limit' : 'its sink and the current gain of the output pair set it',
    // Of a pair one side carries the sum until the other is off.
    classAAmperes: single ? idle : 2 * idle,
  });
}
