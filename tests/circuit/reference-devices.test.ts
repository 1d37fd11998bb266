// Published rows of the single devices (CHECKS.md, section 1) through circuit documents and the periodic steady state.
import { describe, expect, it } from 'vitest';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { buildDeviceTable, evaluateDevices, projectHarmonics } from '../../dsp/circuit/index.ts';
import { check, checksOf, expectWithin, expectedNumbers, numberInput, numbersInput } from '../reference/checks.ts';
import type { ReferenceCheck, Tolerance } from '../reference/checks.ts';
import { capacitor, input, parsedOf, referenceTemperatureC, resistor, source } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';
import { crossing, measured } from '../support/measured.ts';
import type { Measured } from '../support/measured.ts';

const vt = (1.380649e-23 * 300) / 1.602176634e-19;
const quiescent = 1e-3;
const saturation = 1e-16;
const orders = (from: number, to: number): number[] => Array.from({ length: to - from + 1 }, (_, k) => from + k);

/** Misses of each value beyond the check's own tolerance or `floor`, whichever is wider. */
function expectEach(entry: ReferenceCheck, actual: readonly number[], floor: number): void {
  const own = entry.tolerance;
  const allowedAt = (expected: number): Tolerance =>
    own.type === 'rel' && own.value! * Math.abs(expected) >= floor ? own : own.type === 'abs' && own.value! >= floor ? own : { type: 'abs', value: floor };
  const expected = expectedNumbers(entry);
  expect(actual).toHaveLength(expected.length);
  expected.forEach((value, index) => expectWithin({ ...entry, expected: value, id: `${entry.id}[${index}]` }, actual[index]!, allowedAt(value)));
}

/** A solve is accepted within 1e-6 of each control's scale and corrected linearly: what is left is half its square, 5e-13 of the current. */
const solverFloor = 1e-12;

const npn: Part = {
  kind: 'bipolar', polarity: 'npn', saturationAmperes: saturation, forwardBeta: 1e12, reverseBeta: 1, earlyVolts: null,
};

/** Common emitter with gm RE = T at 1 mA from a fixed bias voltage; its collector current through 1 Ω. */
function commonEmitter(degeneration: number): CircuitDocument {
  const volts = vt * Math.log(quiescent / saturation + 1) + degeneration * vt;
  const emitter = degeneration === 0 ? 'ground' : 'e';
  return parsedOf([
    input('b', 'ground', volts), { ...npn, name: 'Q1', collector: 'c', base: 'b', emitter }, resistor('RC', 'vp', 'c', 1), source('VP', 'vp', 'ground', 10),
    ...(degeneration === 0 ? [] : [resistor('RE', 'e', 'ground', (degeneration * vt) / quiescent)]),
  ], ['vp', 'c'], referenceTemperatureC);
}

describe('exponential device', () => {
  const drives = [0.1, 0.2, 0.5, 1, 2, 5];
  const byDrive = new Map<number, Measured>();
  const at = (x: number): Measured => {
    if (!byDrive.has(x)) byDrive.set(x, measured(commonEmitter(0), { peakVolts: x * vt, orders: orders(2, 30) }));
    return byDrive.get(x)!;
  };

  it.each(drives)('EXP x = %d: harmonics, THD, mean and transconductance', (x) => {
    const entry = check(`EXP-HD-x${x}`);
    expectEach(entry, numbersInput(entry, 'n').map((n) => at(x).signed(n)), solverFloor);
    expectWithin(check(`EXP-THD-x${x}`), 100 * at(x).thd.f);
    const mean = at(x).dcVolts / quiescent;
    expectWithin(check(`EXP-DC-x${x}`), mean);
    // With a fixed bias current the wave has the same shape, scaled to that mean.
    expectWithin(check(`EXP-GM-x${x}`), at(x).fundamental.peakVolts / (quiescent * x) / mean);
  });

  it.each(drives)('EXP x = %d by the law alone, at the check\'s own tolerance', (x) => {
    const table = buildDeviceTable([{ kind: 'diode', name: 'D1', anode: 'a', cathode: 'k', saturationAmperes: saturation, emissionCoefficient: 1 }], vt);
    const frames = 65536;
    const [v, i, jacobian] = [new Float64Array(1), new Float64Array(frames), new Float64Array(1)];
    for (let frame = 0; frame < frames; frame += 1) {
      v[0] = 0.7 + x * vt * Math.cos((2 * Math.PI * frame) / frames);
      evaluateDevices(table, v, i, jacobian, 0, frame);
    }
    const entry = check(`EXP-HD-x${x}`);
    const { amplitudes } = projectHarmonics(i, 1, [1, ...numbersInput(entry, 'n')]);
    // 0.7 V rounded to 1e-16 is 4e-15 of the exponent; over 65,536 points, and beside a fundamental of x times the mean, some 1e-16 are left.
    expectEach(entry, [...amplitudes.subarray(1)].map((value) => value / amplitudes[0]!), 1e-15);
  });

  it('EXP-GM through a real bias current: emitter source, bypassed by 10 mF', () => {
    const document = parsedOf([
      input('b'), { ...npn, name: 'Q1', collector: 'c', base: 'b', emitter: 'e' }, resistor('RC', 'vp', 'c', 1), source('VP', 'vp', 'ground', 10),
      { kind: 'current-source', name: 'I1', from: 'e', to: 'vm', amperes: quiescent }, source('VM', 'vm', 'ground', -10), capacitor('CE', 'e', 'ground', 10e-3),
    ], ['vp', 'c'], referenceTemperatureC);
    // The capacitor's reactance is 16 mΩ beside VT/IQ = 26 Ω, in quadrature: (6e-4)²; its ripple couples orders by some 1e-4.
    for (const x of [1, 5]) {
      const gm = measured(document, { peakVolts: x * vt }).fundamental.peakVolts / (quiescent * x);
      expectWithin(check(`EXP-GM-x${x}`), gm, { type: 'rel', value: 1e-4 });
    }
  });

  it('EXP-1PCT: the drive for one per cent of second harmonic', () => {
    const drive = crossing((millivolts) => measured(commonEmitter(0), { peakVolts: millivolts * 1e-3, frames: 256 }).signed(2) - 0.01, 0.5, 2, 1e-8);
    expectWithin(check('EXP-1PCT'), drive);
  });

  it('EXP-SMALL: small-signal coefficients, from two drives extrapolated', () => {
    // HDn/x^(n−1) is a series in x²: two drives leave x⁴, 4e-8 for x = 0.1 and 0.05 at order 2 and some 1e-6 of H5's coefficient; H5 at 0.05 is 3e-9, and its noise 1e-15.
    const coefficient = (x: number, n: number): number => measured(commonEmitter(0), { peakVolts: x * vt, frames: 1024 }).signed(n) / x ** (n - 1);
    const actual = [2, 3, 4, 5].map((n) => (4 * coefficient(0.05, n) - coefficient(0.1, n)) / 3);
    expectWithin(check('EXP-SMALL'), actual, { type: 'rel', value: 2e-6 });
  });
});

describe('common emitter with degeneration', () => {
  const cases = checksOf('CE-T');

  it.each(cases)('$id', (entry) => {
    const degeneration = numberInput(entry, 'T');
    const x = numberInput(entry, 'x');
    const result = measured(commonEmitter(degeneration), { peakVolts: x * vt });
    expectWithin(entry, numbersInput(entry, 'n').map((n) => result.signed(n)));
    expectWithin(check(entry.id.replace('CE-', 'CE-H1-')), [(result.fundamental.peakVolts * (1 + degeneration)) / (quiescent * x), result.dcVolts / quiescent]);
  });

  it.each(checksOf('CE-SMALL'))('$id', (entry) => {
    const degeneration = numberInput(entry, 'T');
    const ratios = (p: number): [number, number] => {
      const result = measured(commonEmitter(degeneration), { peakVolts: p * (1 + degeneration) * vt, frames: 1024 });
      return [result.signed(2) / p, result.signed(3) / (p * p)];
    };
    const [coarse, fine] = [ratios(0.04), ratios(0.02)];
    // Series in p²: p⁴ = 3e-6 is left, with coefficients below one.
    expectWithin(entry, [0, 1].map((k) => (4 * fine[k]! - coarse[k]!) / 3), { type: 'abs', value: 2e-6 });
  });

  const nullAt = (p: number): number => crossing((T) => measured(commonEmitter(T), { peakVolts: p * (1 + T) * vt, frames: 512 }).signed(3), 0.4, 0.6, 1e-8);

  it.each(checksOf('CE-HD3-NULL-p'))('$id', (entry) => {
    expectWithin(entry, nullAt(numberInput(entry, 'p_nominal')));
  });

  it('CE-HD3-NULL: for vanishing swing', () => {
    // Null at p = 0.1 and 0.2, series in p²: what is left is of the order of p⁴ times 1e-3.
    expectWithin(check('CE-HD3-NULL'), (4 * nullAt(0.1) - nullAt(0.2)) / 3, { type: 'abs', value: 2e-6 });
  });
});

/** Two matched transistors on an ideal tail of 2 mA, T = IEE RE/(2 VT); the difference of the collector currents through 1 Ω each. */
function differentialPair(degeneration: number): CircuitDocument {
  const ohms = (degeneration * 2 * vt) / (2 * quiescent);
  const [first, second] = degeneration === 0 ? ['t', 't'] : ['e1', 'e2'];
  return parsedOf([
    input('b1'), source('VB', 'b2', 'ground', 0),
    { ...npn, name: 'Q1', collector: 'c1', base: 'b1', emitter: first }, { ...npn, name: 'Q2', collector: 'c2', base: 'b2', emitter: second },
    ...(degeneration === 0 ? [] : [resistor('RE1', 'e1', 't', ohms), resistor('RE2', 'e2', 't', ohms)]),
    { kind: 'current-source', name: 'I1', from: 't', to: 'vm', amperes: 2 * quiescent }, source('VM', 'vm', 'ground', -10),
    resistor('RC1', 'vp', 'c1', 1), resistor('RC2', 'vp', 'c2', 1), source('VP', 'vp', 'ground', 10),
  ], ['c2', 'c1'], referenceTemperatureC);
}

/** The same law as one component. */
const transconductor = parsedOf([
  input('a'), { kind: 'tanh-transconductor', name: 'G1', out: ['o', 'ground'], in: ['a', 'ground'], maxAmperes: 2 * quiescent, scaleVolts: 2 * vt }, resistor('R1', 'o', 'ground', 1),
], ['o', 'ground'], referenceTemperatureC);

describe('differential pair', () => {
  describe.each([['two transistors', differentialPair(0)], ['one transconductor', transconductor]])('%s', (_, document) => {
    it.each(checksOf('DP-x'))('$id', (entry) => {
      const x = numberInput(entry, 'x');
      const result = measured(document, { peakVolts: x * vt });
      expectWithin(entry, numbersInput(entry, 'n').map((n) => result.signed(n)));
      expectWithin(check(entry.id.replace('DP-', 'DP-H1-')), [result.fundamental.peakVolts / (2 * quiescent), result.thdAll]);
      for (const even of [2, 4, 6]) expect(Math.abs(result.signed(even))).toBeLessThan(1e-12);
    });
  });

  it.each(checksOf('DP-DEG-T'))('$id', (entry) => {
    const result = measured(differentialPair(numberInput(entry, 'T')), { peakVolts: numberInput(entry, 'x') * vt });
    expectWithin(entry, numbersInput(entry, 'n').map((n) => result.signed(n)));
  });

  it('DP-SMALL and DP-DEG-SMALL', () => {
    const coefficients = (x: number, T: number): [number, number] => {
      const result = measured(differentialPair(T), { peakVolts: x * (1 + T) * vt, frames: 1024 });
      return [Math.abs(result.signed(3)) / x ** 2, Math.abs(result.signed(5)) / x ** 4];
    };
    const limit = (T: number): number[] => [0, 1].map((k) => (4 * coefficients(0.1, T)[k]! - coefficients(0.2, T)[k]!) / 3);
    // Series in x²: x⁴ = 1e-4/4 is left, times coefficients of the order of 0.01.
    expectWithin(check('DP-SMALL'), limit(0), { type: 'rel', value: 3e-5 });
    // The drive is x (1+T), so HD3 = x²/(48 (1+T)): times 1+T = 3.
    expectWithin(check('DP-DEG-SMALL'), 3 * limit(2)[0]!, { type: 'rel', value: 3e-5 });
  });
});

/** Square-law device with 1 V of overdrive at 10 mA, T = gm RS; its current through 100 Ω, far from the ohmic region. */
function commonSource(degeneration: number): CircuitDocument {
  const ohms = (degeneration * 1) / (2 * 0.01);
  const sourceNode = degeneration === 0 ? 'ground' : 's';
  return parsedOf([
    input('g', 'ground', -2 + 1 + 0.01 * ohms),
    { kind: 'field-effect', name: 'J1', channel: 'n', drain: 'd', gate: 'g', source: sourceNode, thresholdVolts: -2, betaAmperesPerVolt2: 0.01, lambdaPerVolt: 0 },
    resistor('RD', 'vp', 'd', 100), source('VP', 'vp', 'ground', 60), ...(degeneration === 0 ? [] : [resistor('RS', 's', 'ground', ohms)]),
  ], ['vp', 'd'], referenceTemperatureC);
}

describe('square-law device', () => {
  it.each(checksOf('SQ-r'))('$id', (entry) => {
    const result = measured(commonSource(0), { peakVolts: numberInput(entry, 'r') });
    expectWithin(entry, [result.signed(2), result.signed(3), result.dcVolts]);
  });

  it.each([...checksOf('SQ-CUTOFF'), ...checksOf('SQ-DEG-T')])('$id', (entry) => {
    const degeneration = entry.inputs['T'] === undefined ? 0 : numberInput(entry, 'T');
    const result = measured(commonSource(degeneration), { peakVolts: numberInput(entry, 'r') });
    expectWithin(entry, numbersInput(entry, 'n').map((n) => result.signed(n)));
  });

  it('SQ-DEG-SMALL', () => {
    const T = 2;
    const ratios = (r: number): number[] => {
      const result = measured(commonSource(T), { peakVolts: r, frames: 1024 });
      return [(result.signed(2) * (1 + T) ** 2) / r, (result.signed(3) * (1 + T) ** 4) / (T * r * r)];
    };
    const [coarse, fine] = [ratios(0.1), ratios(0.05)];
    // Series in r²: r⁴/16 = 6e-6 times coefficients below 0.1.
    expectWithin(check('SQ-DEG-SMALL'), [0, 1].map((k) => (4 * fine[k]! - coarse[k]!) / 3), { type: 'rel', value: 2e-6 });
  });
});

const triodeMu = 22;
/** Effective volts at rest: 50, so that the 4 mV toe is out of sight. K such that the rest current is 1 mA. */
const effectiveVolts = 50;
const anodeVolts = 400;
const anodeResistance = (triodeMu * effectiveVolts) / (1.5 * quiescent);

/** Triode with RL = T ra; for T = 0 the anode is held by an amplifier, the current read across its 1 kΩ of feedback. */
function commonCathode(T: number): CircuitDocument {
  const triode = { kind: 'triode', name: 'V1', anode: 'a', grid: 'g', cathode: 'ground', perveance: quiescent / effectiveVolts ** 1.5, mu: triodeMu };
  const grid = input('g', 'ground', effectiveVolts - anodeVolts / triodeMu);
  if (T > 0) {
    const ohms = T * anodeResistance;
    return parsedOf([grid, triode, resistor('RL', 'vp', 'a', ohms), source('VP', 'vp', 'ground', anodeVolts + ohms * quiescent)], ['vp', 'a'], referenceTemperatureC);
  }
  return parsedOf([
    grid, triode, source('VP', 'vp', 'ground', anodeVolts), { kind: 'amplifier', name: 'A1', out: ['o', 'vp'], in: ['vp', 'a'], gain: 1e9 }, resistor('RF', 'o', 'a', 1000),
  ], ['o', 'vp'], referenceTemperatureC);
}

describe('triode', () => {
  it.each([...checksOf('TRI-r'), ...checksOf('TRI-LOAD')])('$id', (entry) => {
    const T = entry.inputs['T'] === undefined ? 0 : numberInput(entry, 'T');
    const result = measured(commonCathode(T), { peakVolts: numberInput(entry, 'r') * effectiveVolts });
    expectWithin(entry, numbersInput(entry, 'n').map((n) => result.signed(n)));
  });

  it('TRI-SMALL', () => {
    const T = 1;
    const ratios = (r: number): number[] => {
      const result = measured(commonCathode(T), { peakVolts: r * effectiveVolts, frames: 1024 });
      return [(result.signed(2) * (1 + T) ** 2) / r, (result.signed(3) * (1 + T) ** 4) / ((1 + 4 * T) * r * r)];
    };
    const [coarse, fine] = [ratios(0.1), ratios(0.05)];
    expectWithin(check('TRI-SMALL'), [0, 1].map((k) => (4 * fine[k]! - coarse[k]!) / 3), { type: 'rel', value: 2e-5 });
  });
});
