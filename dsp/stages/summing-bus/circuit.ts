/** A summing bus: sources through mix resistors into a virtual earth. One source carries the programme, the others stand there at their resistance and are drawn as one. */
import type { CircuitDocument } from '../../circuit/index.ts';
import { atan2 } from '../../math/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { added, complex, divided, magnitude, multiplied } from '../shared/complex.ts';
import { formatValue } from '../shared/format-value.ts';
import { opAmpBlock, opAmpLimits, opAmpOpenLoop } from '../shared/op-amp-block.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';

/** Whole sources. */
export const sourceCount = (values: StageValues): number => Math.round(numbersOf(values)('sources'));

/** Of one source with its mix resistor. */
export const armOhms = (values: StageValues): number => numbersOf(values)('sourceOhms') + numbersOf(values)('mixOhms');

/** Noise gain at low frequency, 1 + RF over all sources together: N + 1 where RF is a source's own resistance. */
export const noiseGain = (values: StageValues): number => 1 + (numbersOf(values)('feedbackOhms') * sourceCount(values)) / armOhms(values);

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  return {
    title: 'summing bus',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      { kind: 'resistor', name: 'RS', between: [before.node, 'source'], ohms: v('sourceOhms') },
      { kind: 'resistor', name: 'RM', between: ['source', 'bus'], ohms: v('mixOhms') },
      { kind: 'resistor', name: 'ROTHERS', between: ['bus', 'ground'], ohms: armOhms(values) / (sourceCount(values) - 1) },
      { kind: 'capacitor', name: 'CW', between: ['bus', 'ground'], farads: v('wiringFarads') },
      ...opAmpBlock('U1', { plus: 'ground', minus: 'bus', out: 'amplifier' }, opAmpLimits(values)),
      { kind: 'resistor', name: 'RF', between: ['amplifier', 'bus'], ohms: v('feedbackOhms') },
      { kind: 'capacitor', name: 'CF', between: ['amplifier', 'bus'], farads: v('feedbackFarads') },
      { kind: 'resistor', name: 'RO', between: ['amplifier', 'out'], ohms: v('buildOutOhms') },
      { kind: 'resistor', name: 'RL', between: ['out', 'ground'], ohms: v('loadOhms') },
    ],
    output: ['out', 'ground'],
  };
}

/** Least margin with which a bus is taken for an amplifier, degrees. */
const leastMarginDegrees = 10;
const radiansPerDegree = Math.PI / 180;

/**
 * Phase margin in closed form, the output's own resistance left out: open-loop gain times β = Zin/(Zin + Zf), Zin all sources beside the wiring, Zf RF beside CF. Degrees.
 * The report takes the exact one of the circuit; this one is for refusing quickly.
 */
export function marginDegrees(values: StageValues): number {
  const v = numbersOf(values);
  const sources = armOhms(values) / sourceCount(values);
  const beside = (ohms: number, farads: number, hz: number) => divided(complex(ohms), complex(1, 2 * Math.PI * hz * ohms * farads));
  const loop = (hz: number) => {
    const input = beside(sources, v('wiringFarads'), hz);
    return multiplied(opAmpOpenLoop(opAmpLimits(values), hz), divided(input, added(input, beside(v('feedbackOhms'), v('feedbackFarads'), hz))));
  };
  let [low, high] = [1, 10 * v('gainBandwidthHz')];
  for (let k = 0; k < 50; k += 1) {
    const middle = Math.sqrt(low * high);
    if (magnitude(loop(middle)) > 1) low = middle;
    else high = middle;
  }
  // The lag is between 0 and 270°: the argument alone, within ±180°, is read on that side.
  const { re, im } = loop(Math.sqrt(low * high));
  const phase = atan2(im, re) / radiansPerDegree;
  return 180 + (phase > 90 ? phase - 360 : phase);
}

export function refuse(values: StageValues): string | null {
  const margin = marginDegrees(values);
  if (margin >= leastMarginDegrees) return null;
  return `feedbackFarads: expected enough for a phase margin of ${leastMarginDegrees}°, got ${formatValue(numbersOf(values)('feedbackFarads'), 'F')} and ${Math.round(margin)}° with ${formatValue(numbersOf(values)('wiringFarads'), 'F')} of wiring at the virtual earth`;
}
