/** What the microphone input says about itself: gain, what it asks of the microphone, its floor and its ceiling. */
import { assembleCircuit, circuitNoise, findOperatingPoint, noiseFigures, noiseFrequencies } from '../../circuit/index.ts';
import type { Complex } from '../../circuit/index.ts';
import { ratioToDecibels } from '../../math/index.ts';
import type { CircuitStageProgram, OutputNetwork, StageReading, StageRemark, StageValues } from '../contract.ts';
import { amplifierHeadroom, describeHeadroom, lineLevelInputVolts } from '../shared/amplifier-headroom.ts';
import { analyse } from '../shared/analysis.ts';
import { bandEdge, middleHz } from '../shared/band-edge.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { complex, divided, magnitude, subtracted } from '../shared/complex.ts';
import { formatValue } from '../shared/format-value.ts';
import { peakVoltsToDbu } from '../shared/levels.ts';
import { nodeResponses } from '../shared/node-responses.ts';
import type { NodeResponses } from '../shared/node-responses.ts';
import { opAmpLimits, opAmpSwingVolts, slewRemark } from '../shared/op-amp-block.ts';
import { opAmpOutputNetwork } from '../shared/pot-equaliser.ts';
import { numbersOf } from '../shared/values.ts';
import { amplifierRatio, circuit, isTransformer, padOhms, padRatio } from './circuit.ts';

/** Resistance that the microphone sees at a frequency: what the pad's end is loaded with besides the pad itself. */
function loadOfMicrophone(values: StageValues, responses: NodeResponses, hz: number): number {
  const { series, shunt } = padOhms(values);
  const h = responses.between([hz], 'microphone')[0]!;
  // v/(Vin − v) = load and shunt in parallel over the series resistor.
  const together = divided(h, subtracted(complex(1), h));
  const admittance: Complex = divided(complex(1), { re: together.re * series, im: together.im * series });
  return 1 / magnitude(subtracted(admittance, complex(1 / shunt)));
}

/** rms volts at 0 dBu. */
const zeroDbuVolts = Math.sqrt(0.6);

function noiseReadings(values: StageValues, gainFromMicrophone: number): { readonly readings: readonly StageReading[]; readonly remarks: readonly StageRemark[] } {
  const document = circuit(values, null);
  const system = assembleCircuit(document);
  const figures = noiseFigures(circuitNoise(document, system, findOperatingPoint(system), { hz: noiseFrequencies() }), { isSource: (component) => component === 'RP1' || component === 'RP2' });
  const inputVolts = figures.totalVolts / gainFromMicrophone;
  return {
    readings: [
      {
        label: 'equivalent input noise', value: ratioToDecibels(inputVolts / zeroDbuVolts), quantity: 'level', unit: 'dBu',
        note: `at the microphone, its own included, 20 Hz to 20 kHz${figures.noiseFigureDb === null ? '' : `; noise figure ${Number(figures.noiseFigureDb.toFixed(1))} dB`}`,
      },
    ],
    remarks: [{
      label: 'noise', words: `most of its own from ${figures.largest.map(({ component, share }) => `${component} ${Math.round(100 * share)} %`).join(', ')}`,
    }],
  };
}

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const responses = nodeResponses(circuit(values, null));
  const analysis = analyse(circuit(values, null));
  const gainFromMicrophone = magnitude(responses.output([middleHz])[0]!) / padRatio(values);
  const atAmplifier = magnitude(responses.between([middleHz], 'amplifier')[0]!) / padRatio(values);
  const headroom = describeHeadroom(amplifierHeadroom(responses, [{ name: 'U1', role: 'amplifier', outNode: 'amplifier' }], opAmpLimits(values), lineLevelInputVolts(program.inputGain)));
  const noise = noiseReadings(values, gainFromMicrophone);
  const edges = (['low', 'high'] as const).flatMap((side): StageReading[] => {
    const hz = bandEdge(responses.output, side);
    return hz === null ? [] : [{ label: `${side} end of the band`, value: hz, quantity: 'frequency', unit: 'Hz', note: '3 dB below 1 kHz' }];
  });
  const readings: readonly StageReading[] = [
    { label: 'gain from the microphone', value: ratioToDecibels(gainFromMicrophone), quantity: 'gain', unit: 'dB', note: 'at 1 kHz, from its open voltage to the load, before make-up' },
    {
      label: 'microphone sees', value: loadOfMicrophone(values, responses, middleHz), quantity: 'resistance', unit: 'Ω',
      note: `at 1 kHz; ${Number((loadOfMicrophone(values, responses, middleHz) / numbersOf(values)('microphoneOhms')).toPrecision(2))} times its own`,
    },
    {
      label: 'largest input', value: peakVoltsToDbu(opAmpSwingVolts(opAmpLimits(values)) / atAmplifier), quantity: 'level', unit: 'dBu',
      note: 'at the microphone, 1 kHz, until the amplifier meets its rails',
    },
    ...noise.readings,
    ...edges,
    ...headroom.readings,
    {
      label: 'gain, small signal', value: analysis.gainDb(middleHz) + ratioToDecibels(program.inputGain * program.outputGain), quantity: 'gain', unit: 'dB',
      note: 'at 1 kHz, drive, pad and make-up included',
    },
    { label: 'input impedance', value: analysis.inputOhms(middleHz), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, of the pad' },
    { label: 'output impedance', value: analysis.outputOhms(middleHz), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included' },
  ];
  const pad: StageRemark = {
    label: 'pad', words: `${formatValue(Number(ratioToDecibels(padRatio(values)).toFixed(1)), 'dB')}: line level stands at ${formatValue(numbersOf(values)('microphoneDbu'), 'dBu')} before the input`,
  };
  return { readings, remarks: [pad, ...noise.remarks, ...headroom.remarks, slewRemark(opAmpLimits(values))] };
}

/** The pair in front gives the amplifier gain to spare at any setting; behind the transformer it has its own alone. */
export const outputNetwork = (values: StageValues): OutputNetwork => opAmpOutputNetwork(values, isTransformer(values) ? amplifierRatio(values) : 1);
