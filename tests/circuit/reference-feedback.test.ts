// Published rows of slewing and of feedback loops (CHECKS.md, section 4) through circuit documents.
import { describe, expect, it } from 'vitest';
import { assembleCircuit, exactResponse, findOperatingPoint } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { check, checksOf, expectWithin, expectedNumbers, numberInput, numbersInput } from '../reference/checks.ts';
import { capacitor, input, parsedOf, referenceTemperatureC, resistor, source } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';
import { crossing, measured } from '../support/measured.ts';

const vt = (1.380649e-23 * 300) / 1.602176634e-19;
const compensation = 100e-12;

/** Input pair and compensation capacitor of an amplifier with this unity-gain frequency: slew rate 4 π VT fT. */
function inputPair(fT: number, feedback: string, node: string): Part[] {
  return [
    { kind: 'tanh-transconductor', name: 'G1', out: [node, 'ground'], in: ['in', feedback], maxAmperes: 4 * Math.PI * vt * fT * compensation, scaleVolts: 2 * vt },
    capacitor('CC', node, 'ground', compensation),
  ];
}

const follower = (fT: number): CircuitDocument => parsedOf([input('in'), ...inputPair(fT, 'o', 'o')], ['o', 'ground'], referenceTemperatureC);

const harmonicsOf = (document: CircuitDocument, frequencyHz: number, peakVolts: number, orders: readonly number[], frames = 4096): number[] =>
  measured(document, { frequencyHz, peakVolts, frames, orders }).harmonics.map(({ ratio }) => ratio);

describe('unity-gain follower with a tanh input pair', () => {
  it.each(checksOf('FOL-').filter(({ id }) => !id.includes('APPROX')))('$id', (entry) => {
    const actual = harmonicsOf(follower(numberInput(entry, 'fT_Hz')), numberInput(entry, 'f_Hz'), numberInput(entry, 'vin_peak_V'), [3, 5]);
    // H5 of FOL-1k is 1.7e-12 of a volt: one thousandth of it lies under what a solve leaves (1e-14 V).
    const [third, fifth] = expectedNumbers(entry);
    expectWithin({ ...entry, expected: third! }, actual[0]!);
    expectWithin({ ...entry, expected: fifth! }, actual[1]!, { type: 'abs', value: Math.max(1e-3 * fifth!, 1e-14) });
  });

  it.each(checksOf('FOL-APPROX'))('$id, with slew rate and unity-gain frequency as the circuit has them', (entry) => {
    const [hz, volts] = [numberInput(entry, 'f_Hz'), numberInput(entry, 'vin_peak_V')];
    // Open loop: the pair's capacitor with a resistor so large that it matters at no frequency asked.
    const open = assembleCircuit(parsedOf([input('in'), source('VF', 'f', 'ground', 0), ...inputPair(1e6, 'f', 'o'), resistor('RO', 'o', 'ground', 1e15)], ['o', 'ground'], referenceTemperatureC));
    const gain = exactResponse(open, findOperatingPoint(open), [1e4])[0]!;
    const unityHz = 1e4 * Math.hypot(gain.re, gain.im);
    // A large step into the same circuit charges the capacitor with all the pair can give.
    const slewing = findOperatingPoint(assembleCircuit(parsedOf([input('in'), source('VF', 'f', 'ground', 0), ...inputPair(1e6, 'f', 'o'), resistor('RO', 'o', 'ground', 1)], ['o', 'ground'], referenceTemperatureC)), 10);
    const slewRate = slewing.outputVolts / 1 / compensation;
    expectWithin(entry, (hz / unityHz) * ((2 * Math.PI * hz * volts) / slewRate) ** 2 / 12);
    // And it is an approximation of the circuit: within 5 % where the drive is far from slewing.
    if ((2 * Math.PI * hz * volts) / slewRate < 0.2) expectWithin(entry, harmonicsOf(follower(1e6), hz, volts, [3])[0]!, { type: 'rel', value: 0.05 });
  });
});

/** The pair of section 2: RE 0.22 Ω, RL 8 Ω, ideal bases about node m. */
function emitterPair(quiescentAmperes: number): Part[] {
  const saturation = 1e-18;
  const half = vt * Math.log(quiescentAmperes / saturation) + quiescentAmperes * 0.22;
  const device: Part = { kind: 'bipolar', saturationAmperes: saturation, forwardBeta: 1e12, reverseBeta: 1, earlyVolts: null };
  return [
    source('VB1', 'b1', 'm', half), source('VB2', 'm', 'b2', half),
    { ...device, name: 'Q1', polarity: 'npn', collector: 'vp', base: 'b1', emitter: 'e1' }, { ...device, name: 'Q2', polarity: 'pnp', collector: 'vm', base: 'b2', emitter: 'e2' },
    resistor('RE1', 'e1', 'o', 0.22), resistor('RE2', 'e2', 'o', 0.22), resistor('RL', 'o', 'ground', 8), source('VP', 'vp', 'ground', 40), source('VM', 'vm', 'ground', -40),
  ];
}

/** dvc/dt = SR tanh((vin − vo)/2VT); a buffer carries vc to the pair, so that its base current (none) is nobody's matter. */
const loop = (quiescentAmperes: number, fT: number): CircuitDocument => parsedOf([
  input('in'), ...inputPair(fT, 'o', 'c'), { kind: 'amplifier', name: 'A1', out: ['m', 'ground'], in: ['c', 'ground'], gain: 1 }, ...emitterPair(quiescentAmperes),
], ['o', 'ground'], referenceTemperatureC);

describe('feedback amplifier with the pair inside the loop', () => {
  it.each(checksOf('LOOP-').filter(({ id }) => !/APPROX|SLOPE/.test(id)))('$id', (entry) => {
    const actual = harmonicsOf(loop(numberInput(entry, 'IQ_A'), numberInput(entry, 'fT_Hz')), numberInput(entry, 'f_Hz'), numberInput(entry, 'vin_peak_V'), numbersInput(entry, 'n'), 8192);
    expectWithin(entry, actual);
  });

  it.each(checksOf('LOOP-APPROX'))('$id: the open pair at 1 V out, over the loop gain at each order', (entry) => {
    const open = parsedOf([{ ...input('m') }, ...emitterPair(numberInput(entry, 'IQ_A'))], ['o', 'ground'], referenceTemperatureC);
    const drive = crossing((peakVolts) => Math.max(...measured(open, { peakVolts, frames: 16 }).steady.output) - 1, 1, 1.2, 1e-13);
    const orders = numbersInput(entry, 'n');
    const result = measured(open, { peakVolts: drive, frames: 8192, orders });
    const gain = result.fundamental.peakVolts / drive;
    const actual = result.harmonics.map(({ ratio, order }) => ratio / Math.hypot(1, (gain * 2e6) / (order * numberInput(entry, 'f_Hz'))));
    // 1e-6 of a harmonic of 1e-9 is below what a solve leaves; relative to the loop gain of 200 and more: 1e-15.
    expectedNumbers(entry).forEach((expected, index) => {
      expectWithin({ ...entry, expected }, actual[index]!, { type: 'abs', value: Math.max(1e-6 * expected, 1e-14) });
    });
  });

  it('LOOP-SLOPE: harmonics rise in proportion to frequency', () => {
    // 6 dB an octave for small distortion far from slewing: between 500 Hz and 1 kHz.
    const third = (hz: number): number => harmonicsOf(loop(0.01, 2e6), hz, 1, [3], 8192)[0]!;
    expectWithin(check('LOOP-SLOPE'), 20 * Math.log10(third(1000) / third(500)));
  });

  it('SR rows: the pair gives all its current to the capacitor', () => {
    for (const entry of checksOf('SR-').filter(({ id }) => /^SR-\d/.test(id))) {
      const kelvin = numberInput(entry, 'temp_K');
      const thermal = (1.380649e-23 * kelvin) / 1.602176634e-19;
      const fT = numberInput(entry, 'fT_Hz');
      // An npn pair with the tail that makes gm/C = 2π fT: gm = IEE/(2 VT).
      const tail = 2 * thermal * 2 * Math.PI * fT * compensation;
      const pair: Part = { kind: 'bipolar', polarity: 'npn', saturationAmperes: 1e-18, forwardBeta: 1e12, reverseBeta: 1, earlyVolts: null };
      const parts = [
        input('in'), { ...pair, name: 'Q1', collector: 'vp', base: 'in', emitter: 't' }, { ...pair, name: 'Q2', collector: 'c', base: 'f', emitter: 't' }, source('VF', 'f', 'ground', 0),
        { kind: 'current-source', name: 'IT', from: 't', to: 'vm', amperes: tail }, source('VP', 'vp', 'ground', 10), source('VM', 'vm', 'ground', -10),
        resistor('RC', 'vp', 'c', 1), capacitor('CC', 'vp', 'c', compensation),
      ];
      const system = assembleCircuit(parsedOf(parts, ['vp', 'c'], kelvin - 273.15));
      const point = findOperatingPoint(system);
      // gm from the response through 1 Ω where the capacitor is open, twice because one collector of the two is read; the tail current from full steering.
      const gm = 2 * Math.abs(exactResponse(system, point, [0])[0]!.re);
      expect(Math.abs(gm / compensation / (2 * Math.PI) / fT - 1)).toBeLessThan(1e-6);
      const steered = findOperatingPoint(system, -2).outputVolts;
      expectWithin(entry, steered / compensation / 1e6);
    }
  });
});
