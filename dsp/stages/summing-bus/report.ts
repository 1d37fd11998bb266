/** What the bus says about itself: what its number of sources costs. */
import { assembleCircuit, circuitNoise, findOperatingPoint, loopGainOf, loopProbeName, noiseFigures, noiseFrequencies, phaseMargin, withLoopProbe } from '../../circuit/index.ts';
import type { LoopCrossing } from '../../circuit/index.ts';
import { ratioToDecibels } from '../../math/index.ts';
import type { CircuitStageProgram, OutputNetwork, StageReading, StageValues } from '../contract.ts';
import { amplifierHeadroom, describeHeadroom, lineLevelInputVolts } from '../shared/amplifier-headroom.ts';
import { analyse } from '../shared/analysis.ts';
import { bandEdge } from '../shared/band-edge.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { complex, divided, magnitude, scaled, subtracted } from '../shared/complex.ts';
import { formatValue } from '../shared/format-value.ts';
import { nodeResponses } from '../shared/node-responses.ts';
import { opAmpLimits, opAmpProbe, slewRemark } from '../shared/op-amp-block.ts';
import { opAmpOutputNetwork } from '../shared/pot-equaliser.ts';
import { numbersOf } from '../shared/values.ts';
import { armOhms, circuit, noiseGain, sourceCount } from './circuit.ts';

const highHz = 10_000;
/** Numbers of sources for which the bandwidth is told. */
const toldSources = [2, 16, 64];
/** Where the loop is looked through for its crossing, Hz. */
const lowestLoopHz = 100;
const highestLoopHz = 1e9;
/** rms volts at 0 dBu. */
const zeroDbuVolts = Math.sqrt(0.6);

const probe = opAmpProbe('U1');

/** Of the circuit as it is wired, load and output resistance included; null: the loop never reaches 1. */
export function exactMargin(values: StageValues): LoopCrossing | null {
  const system = assembleCircuit(withLoopProbe(circuit(values, null), probe.component, probe.node));
  return phaseMargin(loopGainOf(system, findOperatingPoint(system), loopProbeName), lowestLoopHz, highestLoopHz);
}

const bandwidthHz = (values: StageValues): number | null => bandEdge(nodeResponses(circuit(values, null)).output, 'high');

function noiseReading(values: StageValues): StageReading {
  const document = circuit(values, null);
  const system = assembleCircuit(document);
  const { totalVolts, largest } = noiseFigures(circuitNoise(document, system, findOperatingPoint(system), { hz: noiseFrequencies() }));
  return {
    label: 'noise at the output', value: ratioToDecibels(totalVolts / zeroDbuVolts), quantity: 'level', unit: 'dBu',
    note: `20 Hz to 20 kHz, sources silent; most from ${largest.map(({ component, share }) => `${component} ${Math.round(100 * share)} %`).join(', ')}`,
  };
}

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  const responses = nodeResponses(circuit(values, null));
  const analysis = analyse(circuit(values, null));
  const margin = exactMargin(values);
  const width = bandEdge(responses.output, 'high');
  const atBus = responses.between([highHz], 'bus')[0]!;
  const virtualEarth = magnitude(divided(scaled(atBus, armOhms(values)), subtracted(complex(1), atBus)));
  const crosstalk = (magnitude(atBus) * v('sourceOhms')) / armOhms(values);
  const headroom = describeHeadroom(amplifierHeadroom(responses, [{ name: 'U1', role: 'amplifier', outNode: 'amplifier' }], opAmpLimits(values), lineLevelInputVolts(program.inputGain)));
  const readings: readonly StageReading[] = [
    { label: 'noise gain', value: ratioToDecibels(noiseGain(values)), quantity: 'gain', unit: 'dB', note: `1 + RF over all ${sourceCount(values)} sources: ${Number(noiseGain(values).toPrecision(3))} times` },
    noiseReading(values),
    ...(width === null ? [] : [{ label: 'bandwidth', value: width, quantity: 'frequency' as const, unit: 'Hz', note: '3 dB below 1 kHz' }]),
    ...(margin === null ? [] : [
      { label: 'phase margin', value: margin.marginDegrees, quantity: 'ratio' as const, unit: '', note: `degrees, where the loop crosses 1 at ${formatValue(Number(margin.hz.toPrecision(3)), 'Hz')}; less than 45 rings` },
    ]),
    { label: 'virtual earth', value: virtualEarth, quantity: 'resistance', unit: 'Ω', note: 'impedance of the bus at 10 kHz' },
    {
      label: 'crosstalk', value: ratioToDecibels(crosstalk), quantity: 'gain', unit: 'dB', note: 'from the programme into another source at 10 kHz, across its own resistance',
    },
    ...headroom.readings,
    {
      label: 'gain, small signal', value: analysis.gainDb(1000) + ratioToDecibels(program.inputGain * program.outputGain), quantity: 'gain', unit: 'dB',
      note: 'at 1 kHz, drive and make-up included',
    },
    { label: 'input impedance', value: analysis.inputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, of one source’s input' },
    { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included' },
  ];
  const told = toldSources.flatMap((sources) => {
    const hz = bandwidthHz({ ...values, sources });
    return hz === null ? [] : [`${sources} sources ${formatValue(Number(hz.toPrecision(2)), 'Hz')}`];
  });
  return { readings, remarks: [{ label: 'bandwidth by number', words: told.join(', ') }, ...headroom.remarks, slewRemark(opAmpLimits(values))] };
}

export const outputNetwork = (values: StageValues): OutputNetwork => opAmpOutputNetwork(values, noiseGain(values));
