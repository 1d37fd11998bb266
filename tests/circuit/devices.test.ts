import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { DeviceComponent } from '../../dsp/circuit/components.ts';
import { buildDeviceTable, evaluateDevices, limitStep, thermalVolts } from '../../dsp/circuit/devices.ts';
import { check, checksOf, expectWithin, numberInput } from '../reference/checks.ts';

const vt = thermalVolts(27);
const diode: DeviceComponent = { kind: 'diode', name: 'D1', anode: 'a', cathode: 'k', saturationAmperes: 2e-9, emissionCoefficient: 1.8 };
const bipolar: DeviceComponent = {
  kind: 'bipolar', name: 'Q1', polarity: 'npn', collector: 'c', base: 'b', emitter: 'e', saturationAmperes: 1e-14,
  forwardBeta: 200, reverseBeta: 3, earlyVolts: 80, baseOhms: 0, emitterCapacitanceFarads: 0, collectorCapacitanceFarads: 0,
};
const forwardBipolar: DeviceComponent = {
  kind: 'forward-bipolar', name: 'Q2', polarity: 'npn', collector: 'c', base: 'b', emitter: 'e', saturationAmperes: 1e-14, forwardBeta: 200, earlyVolts: 80,
};
const forwardFieldEffect: DeviceComponent = {
  kind: 'forward-field-effect', name: 'J2', channel: 'n', drain: 'd', gate: 'g', source: 's', thresholdVolts: -2, betaAmperesPerVolt2: 2.5e-3, lambdaPerVolt: 0.02,
};
const fieldEffect: DeviceComponent = {
  kind: 'field-effect', name: 'J1', channel: 'n', drain: 'd', gate: 'g', source: 's', thresholdVolts: -2,
  betaAmperesPerVolt2: 2.5e-3, lambdaPerVolt: 0.02, gateSaturationAmperes: 1e-14,
};
const triode: DeviceComponent = { kind: 'triode', name: 'V1', anode: 'a', grid: 'g', cathode: 'k', perveance: 8e-4, mu: 22, gridPerveance: 3e-4 };
const pair: DeviceComponent = { kind: 'tanh-transconductor', name: 'G1', out: ['p', 'q'], in: ['r', 's'], maxAmperes: 2e-3, scaleVolts: 0.052 };
const product: DeviceComponent = { kind: 'product-transconductor', name: 'G2', out: ['p', 'q'], inA: ['r', 's'], inB: ['t', 'u'], amperesPerVolt2: -3e-3 };

interface Evaluation {
  readonly i: Float64Array;
  readonly jacobian: Float64Array;
}

function evaluate(component: DeviceComponent, v: readonly number[]): Evaluation {
  const table = buildDeviceTable([component], vt);
  const i = new Float64Array(table.currentCount);
  const jacobian = new Float64Array(table.jacobianOffsets[1]!);
  evaluateDevices(table, Float64Array.from(v), i, jacobian);
  return { i, jacobian };
}

/** Relative to the larger of the two and to `floor` (A). */
function expectClose(actual: number, expected: number, relative: number, floor = 1e-18): void {
  const error = Math.abs(actual - expected);
  const limit = relative * Math.max(Math.abs(expected), floor / relative);
  expect(!(error <= limit) ? `got ${actual}, expected ${expected}, error ${error}, limit ${limit}` : 'within').toBe('within');
}

describe('thermal voltage', () => {
  it.each(checksOf('DEV-VT'))('$id', (entry) => {
    expectWithin(entry, thermalVolts(numberInput(entry, 'temp_C')) * 1e3);
  });
});

// The laws are written out again with the engine's own functions; the tolerance is 1e-12, some ulps of exp times the exponent.
describe('currents', () => {
  it.each([-5, -0.1, 0, 0.3, 0.7, 0.9])('diode at %d V', (v) => {
    expectClose(evaluate(diode, [v]).i[0]!, 2e-9 * Math.expm1(v / (1.8 * vt)), 1e-12, 1e-21);
  });

  it.each([[0.65, -5], [0.65, 0.6], [0.7, 0.72], [-1, -10], [-2, 0.6]])('bipolar at v_BE %d V, v_BC %d V', (vbe, vbc) => {
    const [forward, reverse] = [1e-14 * Math.expm1(vbe / vt), 1e-14 * Math.expm1(vbc / vt)];
    const transport = (forward - reverse) * (1 - vbc / 80);
    const { i } = evaluate(bipolar, [vbe, vbc]);
    // Terminal currents: collector = iCT − IS/βR(…), base = both leaks, emitter the sum.
    expectClose(-i[1]!, transport - reverse / 3, 1e-12);
    expectClose(i[0]! + i[1]!, forward / 200 + reverse / 3, 1e-11, 1e-16);
  });

  it.each([[-0.5, 5], [0.4, 5], [-0.5, 1], [-1.99, 3], [-0.5, -1], [-1, -8], [-2.5, 0.2]])('field effect at v_GS %d V, v_DS %d V', (vgs, vds) => {
    const law = (gate: number, drain: number): number => {
      const over = gate + 2;
      if (over <= 0) return 0;
      return 2.5e-3 * (drain < over ? drain * (2 * over - drain) : over * over) * (1 + 0.02 * drain);
    };
    const expected = vds >= 0 ? law(vgs, vds) : -law(vgs - vds, -vds);
    const { i } = evaluate(fieldEffect, [vgs, vgs - vds]);
    expectClose(i[0]!, expected, 1e-13, 1e-15);
    expectClose(i[1]!, 1e-14 * Math.expm1(vgs / vt), 1e-12, 1e-26);
    expectClose(i[2]!, 1e-14 * Math.expm1((vgs - vds) / vt), 1e-11, 1e-26);
  });

  it.each([[0.65, -5], [0.65, 0.6], [0.7, 30], [-1, -10]])('forward half of a bipolar at v_BE %d V, v_BC %d V: no current but the emitter\'s doing', (vbe, vbc) => {
    const forward = 1e-14 * Math.expm1(vbe / vt);
    const { i } = evaluate(forwardBipolar, [vbe, vbc]);
    expectClose(-i[1]!, forward * (1 - vbc / 80), 1e-12);
    expectClose(i[0]! + i[1]!, forward / 200, 1e-11, 1e-16);
  });

  it('the forward half of a bipolar is the whole within 1.5 times its saturation current where the collector is reverse biased', () => {
    for (const vbe of [-1, 0, 0.5, 0.7]) {
      const [half, whole] = [forwardBipolar, bipolar].map((component) => evaluate(component, [vbe, -5]));
      half!.i.forEach((amperes, k) => expectClose(amperes, whole!.i[k]!, 1e-12, 1.5e-14));
    }
  });

  it.each([[-0.5, 5], [0.4, 5], [-0.5, 1], [-0.5, -1], [-2.5, 0.2]])('square law alone at v_GS %d V, v_DS %d V', (vgs, vds) => {
    expectClose(evaluate(forwardFieldEffect, [vgs, vgs - vds]).i[0]!, 2.5e-3 * Math.max(0, vgs + 2) ** 2 * (1 + 0.02 * vds), 1e-13, 1e-18);
    // Beyond pinch-off it is the whole transistor's channel.
    if (vds >= vgs + 2) expectClose(evaluate(forwardFieldEffect, [vgs, vgs - vds]).i[0]!, evaluate(fieldEffect, [vgs, vgs - vds]).i[0]!, 1e-13, 1e-18);
  });

  it.each([[-3, 140], [-10, 200], [0.8, 50], [0, 0.1]])('triode at v_GK %d V, v_AK %d V', (vgk, vak) => {
    const effective = vgk + vak / 22;
    const { i } = evaluate(triode, [vgk, vak]);
    expectClose(i[0]!, effective > 0 ? 8e-4 * Math.pow(effective, 1.5) : 0, 1e-13);
    expectClose(i[1]!, vgk > 0 ? 3e-4 * Math.pow(vgk, 1.5) : 0, 1e-13);
  });

  it('triode toe: exact from 2 mV on, nothing below −2 mV, at most 0.5 mV of effective voltage between', () => {
    for (let step = -60; step <= 60; step += 1) {
      const effective = step * 1e-4;
      const drive = Math.pow(evaluate(triode, [effective, 0]).i[0]! / 8e-4, 2 / 3);
      const ideal = Math.max(effective, 0);
      const limit = Math.abs(effective) >= 2e-3 ? 1e-12 : 0.5e-3 + 1e-9;
      expect(!(Math.abs(drive - ideal) <= limit) ? `${effective} V: ${drive}` : 'within').toBe('within');
    }
  });

  it.each([-1, -0.01, 0, 0.02, 3])('tanh transconductor at %d V', (v) => {
    expectClose(evaluate(pair, [v]).i[0]!, 2e-3 * Math.tanh(v / 0.052), 1e-14, 1e-24);
  });

  it.each([[0, 0], [2, -7], [-0.5, -40], [30, 1e-3]])('product transconductor at %d V and %d V', (a, b) => {
    expectClose(evaluate(product, [a, b]).i[0]!, -3e-3 * a * b, 1e-15);
  });

  it('without gate diode or grid current has the channel alone', () => {
    expect(evaluate({ ...fieldEffect, gateSaturationAmperes: null }, [-0.5, -5.5]).i).toHaveLength(1);
    expect(evaluate({ ...triode, gridPerveance: null }, [1, 50]).i).toHaveLength(1);
  });

  it('stays finite at ±1000 V, passes NaN on', () => {
    for (const component of [diode, bipolar, forwardBipolar, fieldEffect, forwardFieldEffect, triode, pair, product]) {
      const controls = buildDeviceTable([component], vt).controlCount;
      for (const v of [-1000, 1000]) {
        const { i, jacobian } = evaluate(component, Array<number>(controls).fill(v));
        expect([...i, ...jacobian].every(Number.isFinite)).toBe(true);
      }
      expect(evaluate(component, Array<number>(controls).fill(NaN)).i.some(Number.isNaN)).toBe(true);
    }
  });
});

describe('derivatives equal central differences', () => {
  const volts = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
  const cases: [string, DeviceComponent, fc.Arbitrary<number[]>][] = [
    ['diode', diode, fc.tuple(volts(-1, 0.9))],
    ['bipolar', bipolar, fc.tuple(volts(-1, 0.8), volts(-20, 0.8))],
    ['forward half of a bipolar', forwardBipolar, fc.tuple(volts(-1, 0.8), volts(-20, 40))],
    ['square law alone', forwardFieldEffect, fc.tuple(volts(-4, 0.7), volts(-20, 20))],
    ['field effect', fieldEffect, fc.tuple(volts(-4, 0.7), volts(-20, 0.7))],
    ['triode', triode, fc.tuple(volts(-20, 3), volts(-5, 300))],
    ['tanh transconductor', pair, fc.tuple(volts(-0.3, 0.3))],
    ['product transconductor', product, fc.tuple(volts(-40, 40), volts(-40, 40))],
  ];
  it.each(cases)('%s', (_, component, controls) => {
    fc.assert(fc.property(controls, (v) => {
      const { i, jacobian } = evaluate(component, v);
      const step = 1e-6;
      for (let k = 0; k < v.length; k += 1) {
        const [up, down] = [1, -1].map((sign) => evaluate(component, v.map((x, m) => (m === k ? x + sign * step : x))).i);
        for (let r = 0; r < i.length; r += 1) {
          const slope = (up![r]! - down![r]!) / (2 * step);
          // Truncation: (step/VT)²/6 of the slope = 2.5e-10; within a step of a kink of the slope (pinch-off, toe,
          // v_GK = 0) at most the square root's there, 3e-4·√step.
          // Rounding: 1e-15 of the device's currents over the step.
          const limit = 1e-8 * Math.abs(slope) + 1e-8 * peak(jacobian) + 1e-9 * peak(i) + 3e-7;
          const error = Math.abs(jacobian[r * v.length + k]! - slope);
          if (!(error <= limit)) throw new Error(`d i${r} / d v${k} at ${v}: ${jacobian[r * v.length + k]}, differences give ${slope}`);
        }
      }
    }), { seed: 20261125, numRuns: 300 });
  });

  function peak(values: Float64Array): number {
    return values.reduce((largest, value) => Math.max(largest, Math.abs(value)), 0);
  }
});

describe('table', () => {
  it('packs several devices and reads and writes at offsets', () => {
    const table = buildDeviceTable([diode, bipolar, fieldEffect, triode, pair], vt);
    expect([table.count, table.controlCount, table.currentCount]).toEqual([5, 8, 9]);
    const v = [0.6, 0.65, -3, -0.5, -6, 0.3, 100, 0.02];
    const shared = new Float64Array(3 + 8 + 9 + 16).fill(-7);
    shared.set(v, 3);
    evaluateDevices(table, shared, shared, shared, 3, 11, 20);
    expect([...shared.subarray(0, 3)]).toEqual([-7, -7, -7]);
    const singly = [evaluate(diode, v.slice(0, 1)), evaluate(bipolar, v.slice(1, 3)), evaluate(fieldEffect, v.slice(3, 5)), evaluate(triode, v.slice(5, 7)), evaluate(pair, v.slice(7))];
    expect([...shared.subarray(11, 20)]).toEqual(singly.flatMap(({ i }) => [...i]));
    expect([...shared.subarray(20, 36)]).toEqual(singly.flatMap(({ jacobian }) => [...jacobian]));
  });

  it('scales controls by n·VT, 0.1 V and the scale of the pair', () => {
    expect([...buildDeviceTable([diode, bipolar, fieldEffect, triode, pair], vt).scaleVolts]).toEqual([1.8 * vt, vt, vt, 0.1, 0.1, 0.1, 0.1, 0.052]);
  });
});

describe('step limiter', () => {
  const limited = (component: DeviceComponent, v: number[], step: number[]): number[] => {
    const out = new Float64Array(v.length);
    limitStep(buildDeviceTable([component], vt), Float64Array.from(v), Float64Array.from(step), out);
    return [...out];
  };

  it('lets small steps and steps below the critical voltage pass', () => {
    expect(limited(diode, [0.7], [0.05])).toEqual([0.05]);
    expect(limited(diode, [-5], [5.1])).toEqual([5.1]);
    expect(limited(bipolar, [0.6, -5], [0.01, -8])).toEqual([0.01, -8]);
  });

  it('turns long forward steps into steps of the current', () => {
    const width = 1.8 * vt;
    expectClose(limited(diode, [0.7], [2])[0]!, width * Math.log(1 + 2 / width), 1e-13);
    expectClose(limited(diode, [-0.5], [2])[0]!, width * Math.log(1.5 / width) + 0.5, 1e-13);
    const critical = width * Math.log(width / (Math.SQRT2 * 2e-9));
    expectClose(limited(diode, [critical + 0.5], [-0.3])[0]!, critical - (critical + 0.5), 1e-12);
  });

  it('bounds the others', () => {
    expect(limited(triode, [0, 0], [3, -200])).toEqual([1, -1]);
    // 1 V at 0 V, 28 V at −9 V.
    expect(limited(fieldEffect, [-1, -9], [0.2, -40])).toEqual([0.2, -28]);
    expect(limited(pair, [0], [-9])).toEqual([-0.052]);
    expect(limited(product, [0, 2], [-9, 9])).toEqual([-1, 7]);
  });

  it('bounds a field-effect control by its gate diode too', () => {
    expectClose(limited(fieldEffect, [0.6, -9], [0.9, 0])[0]!, vt * Math.log(1 + 0.9 / vt), 1e-13);
  });
});

// Small-signal second harmonic over relative current swing, from the laws' own second derivatives: HD2 = (i''/4 i') · vp, p = i' vp / i.
it('DEV-COMPARE: second harmonic of exponential, square-law and triode devices at one relative swing', () => {
  const swing = numberInput(check('DEV-COMPARE'), 'p');
  const secondHarmonic = (component: DeviceComponent, at: number[], h: number): number => {
    const current = (v: number): number => evaluate(component, [v, ...at.slice(1)]).i[0]!;
    const slope = evaluate(component, at).jacobian[0]!;
    const bend = (current(at[0]! + h) - 2 * current(at[0]!) + current(at[0]! - h)) / (h * h);
    return (bend / (4 * slope)) * (swing * current(at[0]!)) / slope;
  };
  const saturated: DeviceComponent = { ...fieldEffect, lambdaPerVolt: 0, gateSaturationAmperes: null };
  const actual = [
    secondHarmonic({ ...diode, saturationAmperes: 1e-14, emissionCoefficient: 1 }, [0.65], 1e-4),
    secondHarmonic(saturated, [-1, -20], 1e-3),
    secondHarmonic({ ...triode, gridPerveance: null }, [-3, 140], 1e-3),
  ];
  // The second difference's own truncation is (h/VT)²/12 = 1.2e-6, its rounding 1e-9: 2e-6 instead of the formula's 1e-9.
  expectWithin(check('DEV-COMPARE'), actual, { type: 'rel', value: 2e-6 });
});
