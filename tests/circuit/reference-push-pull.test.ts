// Published rows of push-pull pairs, dead zone and clipping (CHECKS.md, sections 2 and 6) through circuit documents.
import { describe, expect, it } from 'vitest';
import { assembleCircuit, findOperatingPoint, outputImpedance } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { check, checksOf, expectWithin, expectedNumbers, numberInput, numbersInput } from '../reference/checks.ts';
import { input, parsedOf, referenceTemperatureC, resistor, source } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';
import { crossing, measured, peakOf } from '../support/measured.ts';

const vt = (1.380649e-23 * 300) / 1.602176634e-19;
const emitterOhms = 0.22;
const loadOhms = 8;
/** Small enough that what a blocked device leaks is 1e-15 of the least quiescent current. */
const saturation = 1e-18;

/** Complementary emitter followers with ideal bases; `more` is what hangs on the output besides RL. */
function pair(quiescentAmperes: number, load: readonly Part[] = [resistor('RL', 'o', 'ground', loadOhms)], driveVolts = 0): CircuitDocument {
  const half = vt * Math.log(quiescentAmperes / saturation) + quiescentAmperes * emitterOhms;
  const device: Part = { kind: 'bipolar', saturationAmperes: saturation, forwardBeta: 1e12, reverseBeta: 1, earlyVolts: null };
  return parsedOf([
    input('m', 'ground', driveVolts), source('VB1', 'b1', 'm', half), source('VB2', 'm', 'b2', half),
    { ...device, name: 'Q1', polarity: 'npn', collector: 'vp', base: 'b1', emitter: 'e1' }, { ...device, name: 'Q2', polarity: 'pnp', collector: 'vm', base: 'b2', emitter: 'e2' },
    resistor('RE1', 'e1', 'o', emitterOhms), resistor('RE2', 'e2', 'o', emitterOhms), ...load,
    source('VP', 'vp', 'ground', 40), source('VM', 'vm', 'ground', -40),
  ], ['o', 'ground'], referenceTemperatureC);
}

const oddTo49 = Array.from({ length: 24 }, (_, k) => 3 + 2 * k);
const harmonicRows = [...checksOf('PP-classB'), ...checksOf('PP-light'), ...checksOf('PP-opt'), ...checksOf('PP-over'), ...checksOf('PP-classA')];

describe('complementary emitter followers', () => {
  it.each(harmonicRows)('$id', (entry) => {
    const result = measured(pair(numberInput(entry, 'IQ_A')), { peakVolts: numberInput(entry, 'vin_peak_V'), frames: 8192, orders: oddTo49 });
    expectWithin(entry, numbersInput(entry, 'n').map((n) => result.signed(n)));
    // Where all harmonics together are below −60 dB they decay fast, and the wave's power no longer holds them to 1e-5: there the sum of orders does.
    const thd = result.thd.f > 1e-3 ? result.thdAll : result.thd.f;
    expectWithin(check(entry.id.replace('PP-', 'PP-THD-')), [100 * thd, result.fundamental.peakVolts]);
  });

  /** Incremental resistance of the pair alone where its output is held vd = vin − vout volts off rest: from the current it takes. */
  const impedanceAt = (quiescentAmperes: number, vd: number): number => {
    const current = (v: number): number => {
      const held = assembleCircuit(pair(quiescentAmperes, [source('VO', 'o', 'ground', -v)]));
      const point = findOperatingPoint(held);
      return point.w[held.nodeNames.length + held.branchNames.indexOf('VO')]!;
    };
    const h = 1e-4 * vt;
    return (2 * h) / (current(vd + h) - current(vd - h));
  };

  it('PP-OLIVER: equal gains at the crossing and far away', () => {
    const crossingOhms = (quiescentAmperes: number): number => {
      const system = assembleCircuit(pair(quiescentAmperes, [{ kind: 'current-source', name: 'IL', from: 'o', to: 'ground', amperes: 0 }]));
      return outputImpedance(system, findOperatingPoint(system), [1])[0]!.re;
    };
    const best = crossing((amperes) => crossingOhms(amperes) - emitterOhms, 0.05, 0.3, 1e-10);
    expectWithin(check('PP-OLIVER-IQ'), best * 1e3);
    expectWithin(check('PP-OLIVER-V'), best * emitterOhms * 1e3);
  });

  it('PP-RIPPLE: output resistance against the difference of input and output', () => {
    const best = vt / emitterOhms;
    const ratio = (x: number): number => impedanceAt(best, x * vt) / emitterOhms;
    const peak = peakOf(ratio, 2, 8, 1e-4);
    // Far away: one side is cut off, the other's VT/i is what is left; at 32 V that is 8e-4 of 0.22 Ω, falling as 1/v.
    const far = (v: number): number => impedanceAt(best, v) / emitterOhms;
    const extrapolated = 2 * far(32) - far(16);
    // Differences of the current over 1e-4 VT: 1e-9 of curvature, 1e-9 of rounding.
    expectWithin(check('PP-RIPPLE'), [ratio(0), ratio(peak), extrapolated], { type: 'rel', value: 1e-5 });
    expectWithin(check('PP-RIPPLE-AT'), peak);
  });

  it('PP-H3-NULL: no third harmonic of small signals at half of VT', () => {
    const third = (millivolts: number): number => measured(pair((millivolts * 1e-3) / emitterOhms), { peakVolts: 0.05, frames: 512 }).signed(3);
    // Null at two drives, extrapolated to none: it moves with the square of the drive.
    const nullAt = (peakVolts: number): number =>
      crossing((millivolts) => measured(pair((millivolts * 1e-3) / emitterOhms), { peakVolts, frames: 512 }).signed(3), 10, 18, 1e-7);
    expect(third(20)).toBeLessThan(0);
    expectWithin(check('PP-H3-NULL'), (4 * nullAt(0.1) - nullAt(0.2)) / 3, { type: 'rel', value: 1e-4 });
  });

  it.each(checksOf('PP-TBEST'))('$id', (entry) => {
    const vout = numberInput(entry, 'vout_peak_V');
    const thdAt = (T: number): number => {
      const document = pair((T * vt) / emitterOhms);
      // The table holds the output's peak: with this bias the drive is vout plus what the emitter resistor and one junction take.
      const drive = crossing((peakVolts) => Math.max(...measured(document, { peakVolts, frames: 16 }).steady.output) - vout, vout, 1.2 * vout + 0.1, 1e-7 * vout);
      return measured(document, { peakVolts: drive, frames: 2048, orders: oddTo49 }).thd.f;
    };
    const [bestExpected] = expectedNumbers(entry);
    const best = peakOf((T) => -thdAt(T), 0.8 * bestExpected!, 1.25 * bestExpected!, 2e-4);
    expectWithin(entry, [best, 100 * thdAt(best)]);
  });
});

/**
 * A diode whose n·VT is 1 nV or less is a switch beside volts: dead zone and clipping from ideal diodes and sources. `emission` sets how
 * ideal: a junction's drop, some 30 n·VT, is what the figures are off by.
 */
const idealDiode = (name: string, anode: string, cathode: string, emission: number): Part => ({ kind: 'diode', name, anode, cathode, saturationAmperes: 1e-12, emissionCoefficient: emission });

describe('dead zone', () => {
  const deadZone = (width: number): CircuitDocument => parsedOf([
    input('a'), source('V1', 'a', 'p', width), source('V2', 'n', 'a', width), idealDiode('D1', 'p', 'o', 1e-8), idealDiode('D2', 'o', 'n', 1e-8), resistor('R1', 'o', 'ground', 1e3),
  ], ['o', 'ground'], referenceTemperatureC);

  it.each(checksOf('DZ-d'))('$id', (entry) => {
    const width = numberInput(entry, 'd_over_A');
    const result = measured(deadZone(width), { peakVolts: 1, frames: 32768, orders: [3, 5, 7, 9, 11] });
    const first = result.fundamental.peakVolts;
    // Junction drops of some 20 n·VT = 5e-9 V stand beside the 1e-8 of the check.
    expectWithin(entry, [first, ...[3, 5, 7, 9, 11].map((n) => first * result.signed(n))], { type: 'abs', value: 2e-8 });
    expectWithin(check(`DZ-THD-d${width}`), 100 * result.thdAll);
  });

  it('DZ-DF', () => {
    const entry = check('DZ-DF');
    const actual = numbersInput(entry, 'd_over_A').map((width) => measured(deadZone(width), { peakVolts: 1, frames: 32768 }).fundamental.peakVolts);
    expectWithin(entry, actual, { type: 'abs', value: 2e-8 });
  });

  it('DZ-ASYMPTOTE', () => {
    // THD/(d/A) is a series in d/A: two widths leave its square, 1e-6.
    const limit = (of: (width: number) => number): number => 2 * of(0.0005) - of(0.001);
    const at = (width: number): ReturnType<typeof measured> => measured(deadZone(width), { peakVolts: 1, frames: 65536, orders: [3] });
    expectWithin(check('DZ-ASYMPTOTE'), [limit((width) => at(width).thdAll / width), limit((width) => (3 * at(width).signed(3)) / width)], { type: 'rel', value: 2e-5 });
  });
});

describe('clipping', () => {
  it.each(checksOf('CLIP-'))('$id', (entry) => {
    const ceiling = numberInput(entry, 'clip_over_peak');
    const document = parsedOf([
      input('a'), resistor('R1', 'a', 'o', 1e3), idealDiode('D1', 'o', 'p', 1e-8), idealDiode('D2', 'n', 'o', 1e-8), source('V1', 'p', 'ground', ceiling), source('V2', 'ground', 'n', ceiling),
    ], ['o', 'ground'], referenceTemperatureC);
    const result = measured(document, { peakVolts: 1, frames: 65536, orders: [3, 5, 7, 9] });
    expectWithin(entry, [100 * result.thdAll, ...numbersInput(entry, 'n').map((n) => result.signed(n))]);
  });

  it.each(checksOf('CLIP1-'))('$id', (entry) => {
    const document = parsedOf([
      input('a'), resistor('R1', 'a', 'o', 1e3), idealDiode('D1', 'o', 'p', 1e-8), source('V1', 'p', 'ground', numberInput(entry, 'clip_over_peak')),
    ], ['o', 'ground'], referenceTemperatureC);
    const result = measured(document, { peakVolts: 1, frames: 65536, orders: [2, 3, 4] });
    expectWithin(entry, [100 * result.thdAll, ...[2, 3, 4].map((n) => result.signed(n))]);
  });
});
