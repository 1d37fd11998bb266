// Published rows of slew rate, full-power bandwidth and slewing (CHECKS.md, section 3) through circuit documents: a diode bridge between two current sources that
// charges a capacitor with no more than their current, and the pairs of reference-feedback.test.ts.
import { describe, expect, it } from 'vitest';
import { assembleCircuit, exactResponse, findOperatingPoint } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { check, checksOf, expectWithin, expectedNumbers, numberInput } from '../reference/checks.ts';
import { capacitor, input, parsedOf, referenceTemperatureC, resistor, source } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';
import { crossing, measured } from '../support/measured.ts';
import type { Measured } from '../support/measured.ts';

const vt = (1.380649e-23 * 300) / 1.602176634e-19;
const farads = 1e-9;

/** Follows its input as long as that rises or falls by less than `slewRate`, V/s; the diodes drop a hundred-thousandth of what real ones do. */
function hardLimiter(slewRate: number, emissionCoefficient = 1e-5): CircuitDocument {
  const amperes = slewRate * farads;
  const diode = (name: string, anode: string, cathode: string): Part => ({ kind: 'diode', name, anode, cathode, saturationAmperes: 1e-12, emissionCoefficient });
  return parsedOf([
    input('in'), { kind: 'current-source', name: 'IP', from: 'ground', to: 'a', amperes }, { kind: 'current-source', name: 'IM', from: 'b', to: 'ground', amperes },
    diode('D1', 'a', 'in'), diode('D2', 'a', 'o'), diode('D3', 'in', 'b'), diode('D4', 'o', 'b'), capacitor('C', 'o', 'ground', farads),
  ], ['o', 'ground'], referenceTemperatureC);
}

const limited = (ratio: number, frames: number, frequencyHz = 1000): Measured => {
  const peakVolts = 1;
  return measured(hardLimiter((2 * Math.PI * frequencyHz * peakVolts) / ratio), { frequencyHz, peakVolts, frames, orders: [3, 5] });
};

describe('hard slew limiter', () => {
  it.each(checksOf('SLEW-HARD'))('$id', (entry) => {
    // At 1 itself the limiter is on the point of opening: a thousandth less, where it must not show yet.
    const ratio = numberInput(entry, 'A_w_over_SR');
    const result = limited(ratio === 1 ? 0.999 : ratio, 4096);
    const actual = [result.fundamental.peakVolts, ...result.harmonics.map(({ ratio }) => ratio)];
    expectedNumbers(entry).forEach((expected, index) => expectWithin({ ...entry, expected }, actual[index]!));
  });

  it('SLEW-TRI: from there on the output is all ramp', () => {
    // Samples at which it still follows: none above. One of 4096 samples is a thousandth of the ratio.
    const following = (ratio: number): number => {
      const { output } = limited(ratio, 4096).steady;
      const most = (2 * Math.PI) / ratio / 4096;
      const slopes = output.map((volts, n) => Math.abs(volts - output[(n + output.length - 1) % output.length]!) / most);
      // Four samples hold the two turns.
      return slopes.filter((slope) => slope < 0.995).length - 4.5;
    };
    expectWithin(check('SLEW-TRI'), crossing(following, 1.7, 1.95, 1e-4), { type: 'rel', value: 5e-3 });
  });

  it('SLEW-TRI-AMP: the triangle\'s peak, from its fundamental', () => {
    const entry = check('SLEW-TRI-AMP');
    const [rate, hz] = [numberInput(entry, 'SR_V_per_s'), numberInput(entry, 'f_Hz')];
    const result = measured(hardLimiter(rate, 1e-3), { frequencyHz: hz, peakVolts: (2 * rate) / (2 * Math.PI * hz), frames: 1024, orders: [3] });
    // The fundamental of a triangle is 8/π² of its peak; sampled turns leave 1e-6 of it.
    expectWithin(entry, (result.fundamental.peakVolts * Math.PI ** 2) / 8, { type: 'rel', value: 2e-6 });
  });
});

/** A pair of transistors without base currents, and its currents: transconductance to one collector, and all of the tail steered to it. */
function pairOf(tailAmperes: number, degenerationOhms: number): { readonly siemens: number; readonly steeredAmperes: number } {
  const device: Part = { kind: 'bipolar', polarity: 'npn', saturationAmperes: 1e-18, forwardBeta: 1e12, reverseBeta: 1, earlyVolts: null };
  const emitters = degenerationOhms > 0 ? [resistor('RE1', 'e1', 't', degenerationOhms), resistor('RE2', 'e2', 't', degenerationOhms)] : [source('W1', 'e1', 't', 0), source('W2', 'e2', 't', 0)];
  const system = assembleCircuit(parsedOf([
    input('in'), { ...device, name: 'Q1', collector: 'vp', base: 'in', emitter: 'e1' }, { ...device, name: 'Q2', collector: 'c', base: 'ground', emitter: 'e2' }, ...emitters,
    { kind: 'current-source', name: 'IT', from: 't', to: 'vm', amperes: tailAmperes }, source('VP', 'vp', 'ground', 10), source('VM', 'vm', 'ground', -10), resistor('RC', 'vp', 'c', 1),
  ], ['vp', 'c'], referenceTemperatureC));
  const steering = tailAmperes * degenerationOhms + 1.5;
  return { siemens: Math.abs(exactResponse(system, findOperatingPoint(system), [0])[0]!.re), steeredAmperes: findOperatingPoint(system, -steering).outputVolts };
}

describe('slew rates', () => {
  it('SR-DEG: degeneration of gm RE = 9, and ten times the tail for the same transconductance', () => {
    const entry = check('SR-DEG');
    const degeneration = numberInput(entry, 'T');
    const tail = 1e-4;
    const plain = pairOf(tail, 0);
    const factor = 1 + degeneration;
    // Of each transistor gm = I/(2 VT); RE that times T.
    const degenerated = pairOf(tail * factor, (degeneration * 2 * vt) / (tail * factor));
    expect(Math.abs(degenerated.siemens / plain.siemens - 1)).toBeLessThan(1e-9);
    expectWithin(entry, degenerated.steeredAmperes / plain.steeredAmperes);
  });

  it.each(checksOf('FPBW-'))('$id: of a pair steered to one side, into a capacitor', (entry) => {
    const rate = numberInput(entry, 'SR_V_per_s');
    const { steeredAmperes } = pairOf(rate * farads, 0);
    expectWithin(entry, steeredAmperes / farads / (2 * Math.PI * numberInput(entry, 'Vp_V')));
  });

  it('SR-NEED-20k: what a capacitor draws from a sine, over its capacitance', () => {
    const entry = check('SR-NEED-20k');
    const sense = 1e-3;
    const system = assembleCircuit(parsedOf([input('in'), capacitor('C', 'in', 's', farads), resistor('R', 's', 'ground', sense)], ['s', 'ground']));
    const { re, im } = exactResponse(system, findOperatingPoint(system), [numberInput(entry, 'f_Hz')])[0]!;
    expectWithin(entry, (numberInput(entry, 'Vp_V') * Math.hypot(re, im)) / sense / farads / 1e6);
  });

  it('SID-SLOPE: third harmonic of a follower with frequency and level, far below slewing', () => {
    const third = (frequencyHz: number, peakVolts: number): number => {
      const fT = 1e6;
      const follower = parsedOf([
        input('in'), { kind: 'tanh-transconductor', name: 'G1', out: ['o', 'ground'], in: ['in', 'o'], maxAmperes: 4 * Math.PI * vt * fT * 1e-10, scaleVolts: 2 * vt }, capacitor('CC', 'o', 'ground', 1e-10),
      ], ['o', 'ground'], referenceTemperatureC);
      return measured(follower, { frequencyHz, peakVolts, frames: 4096, orders: [3] }).harmonics[0]!.ratio;
    };
    const entry = check('SID-SLOPE');
    const [octave, level] = expectedNumbers(entry);
    expectWithin({ ...entry, expected: octave! }, 20 * Math.log10(third(2000, 1) / third(1000, 1)));
    expectWithin({ ...entry, expected: level! }, Math.log2(third(1000, 1) / third(1000, 0.5)));
  });
});
