// Loop gain by double injection against loops that can be written down.
import { describe, expect, it } from 'vitest';
import { assembleCircuit, exactResponse, findOperatingPoint, loopGain, loopGainOf, loopProbeName, phaseMargin, withLoopProbe } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, Complex } from '../../dsp/circuit/index.ts';
import { capacitor, input, parsedOf, resistor, source } from '../support/circuits.ts';
import { bipolar } from './support.ts';
import type { Part } from '../support/circuits.ts';

const frequencies = [1, 100, 1e4, 1e6, 3e7];

function gainAt(document: CircuitDocument, hz: readonly number[]): Complex[] {
  const system = assembleCircuit(document);
  return loopGain(system, findOperatingPoint(system), loopProbeName, hz);
}

function expectNear(actual: Complex, expected: Complex, relative: number): void {
  const error = Math.hypot(actual.re - expected.re, actual.im - expected.im) / Math.hypot(expected.re, expected.im);
  if (!(error <= relative)) throw new Error(`got ${actual.re} ${actual.im}j, expected ${expected.re} ${expected.im}j, off by ${error}, limit ${relative}`);
}

const times = (a: Complex, b: Complex): Complex => ({ re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re });
const over = (a: Complex, b: Complex): Complex => {
  const square = b.re * b.re + b.im * b.im;
  return { re: (a.re * b.re + a.im * b.im) / square, im: (a.im * b.re - a.re * b.im) / square };
};
const real = (re: number): Complex => ({ re, im: 0 });
/** 1/(1 + jf/pole) */
const pole = (hz: number, poleHz: number): Complex => over(real(1), { re: 1, im: hz / poleHz });

/** Two amplifiers, a pole behind each, and a divider back: A1 A2 = 1e5, poles at 159 Hz and 1.59 MHz, feedback 1/11. */
const [firstOhms, firstFarads, secondOhms, secondFarads] = [1e6, 1e-9, 1e3, 1e-10];
const twoPoles = (feedbackOhms = 10e3): CircuitDocument => parsedOf([
  input('in'),
  { kind: 'amplifier', name: 'A1', out: ['a', 'ground'], in: ['in', 'f'], gain: 1e4 }, resistor('R1', 'a', 'b', firstOhms), capacitor('C1', 'b', 'ground', firstFarads),
  { kind: 'amplifier', name: 'A2', out: ['c', 'ground'], in: ['b', 'ground'], gain: 10 }, resistor('R2', 'c', 'd', secondOhms), capacitor('C2', 'd', 'ground', secondFarads),
  { kind: 'amplifier', name: 'A3', out: ['out', 'ground'], in: ['d', 'ground'], gain: 1 },
  resistor('RF', 'out', 'f', feedbackOhms), resistor('RG', 'f', 'ground', 1e3),
], ['out', 'ground']);
const firstHz = 1 / (2 * Math.PI * firstOhms * firstFarads);
const secondHz = 1 / (2 * Math.PI * secondOhms * secondFarads);
const twoPolesGain = (hz: number, feedbackOhms = 10e3): Complex => times(real(1e5 / (1 + feedbackOhms / 1e3)), times(pole(hz, firstHz), pole(hz, secondHz)));

describe('loop gain', () => {
  it.each([['RF', 'out'], ['RF', 'f'], ['R1', 'a'], ['R2', 'd']] as const)('of two poles, looked at in %s at %s', (name, node) => {
    gainAt(withLoopProbe(twoPoles(), name, node), frequencies).forEach((gain, k) => expectNear(gain, twoPolesGain(frequencies[k]!), 1e-9));
  });

  it('counts what loads the loop: an output resistance, a load and the feedback network itself', () => {
    const [outOhms, loadFarads, feedbackOhms, groundOhms] = [100, 30e-9, 2200, 2200];
    const document = parsedOf([
      input('in'), { kind: 'amplifier', name: 'A1', out: ['a', 'ground'], in: ['in', 'f'], gain: 1000 }, resistor('RO', 'a', 'out', outOhms), capacitor('CL', 'out', 'ground', loadFarads),
      resistor('RF', 'out', 'f', feedbackOhms), resistor('RG', 'f', 'ground', groundOhms),
    ], ['out', 'ground']);
    for (const [name, node] of [['RF', 'out'], ['RF', 'f'], ['RO', 'out']] as const) {
      gainAt(withLoopProbe(document, name, node), frequencies).forEach((gain, k) => {
        // Load: capacitor beside the feedback network.
        const load = over(real(1), { re: 1 / (feedbackOhms + groundOhms), im: 2 * Math.PI * frequencies[k]! * loadFarads });
        const atOutput = over(load, { re: load.re + outOhms, im: load.im });
        expectNear(gain, times(real((1000 * groundOhms) / (feedbackOhms + groundOhms)), atOutput), 1e-9);
      });
    }
  });

  it('makes 1 + T the characteristic of a loop that carries signal both ways', () => {
    // Three resistors in a ring with a transconductance across: T from y-parameters written out by hand at the probe's ends.
    const [ga, gb, gc, gm] = [1e-3, 2e-3, 5e-4, 7e-3];
    const document = parsedOf([
      input('in'), resistor('RI', 'in', 'm', 1e3),
      resistor('RA', 'p', 'ground', 1 / ga), resistor('RB', 'm', 'ground', 1 / gb), resistor('RC', 'p', 'm', 1 / gc), source('W', 'p', 'm', 0),
      { kind: 'tanh-transconductor', name: 'G1', out: ['m', 'ground'], in: ['ground', 'p'], maxAmperes: gm, scaleVolts: 1 },
    ], ['m', 'ground']);
    const system = assembleCircuit(document);
    const [gain] = loopGain(system, findOperatingPoint(system), 'W', [1000]);
    // y_pp = ga + gc, y_mm = gb + gc + 1 mS, y_pm = −gc, y_mp = −gc + gm.
    expectNear(gain!, real((gm - 2 * gc) / (ga + gb + 2 * gc + 1e-3)), 1e-12);
  });

  it('closes: a follower\'s transfer is T/(1 + T) where the loop has all the gain', () => {
    const system = assembleCircuit(twoPoles());
    const closed = exactResponse(system, findOperatingPoint(system), frequencies);
    const open = gainAt(withLoopProbe(twoPoles(), 'RF', 'out'), frequencies);
    closed.forEach((response, k) => expectNear(response, times(real(11), over(open[k]!, { re: 1 + open[k]!.re, im: open[k]!.im })), 1e-9));
  });

  it('leaves the circuit as it was: operating point and response with the probe in', () => {
    const parts: Part[] = [
      input('in'), resistor('RS', 'in', 'b', 600), bipolar('Q1', 'npn', ['c', 'b', 'e']), resistor('RC', 'vcc', 'c', 2200), resistor('RE', 'e', 'ground', 390), source('VCC', 'vcc', 'ground', 12),
      resistor('RF', 'c', 'b', 47e3), resistor('RB', 'b', 'ground', 8200),
    ];
    const [plain, probed] = [parsedOf(parts, ['c', 'ground']), withLoopProbe(parsedOf(parts, ['c', 'ground']), 'RF', 'c')].map((document) => assembleCircuit(document));
    const [a, b] = [findOperatingPoint(plain!), findOperatingPoint(probed!)];
    expect(Math.abs(a.outputVolts - b.outputVolts)).toBeLessThan(1e-12);
    expectNear(exactResponse(probed!, b, [1000])[0]!, exactResponse(plain!, a, [1000])[0]!, 1e-12);
  });

  it('names what it cannot look at', () => {
    expect(() => withLoopProbe(twoPoles(), 'A1', 'a')).toThrow('expected a two-terminal component for a loop probe, got "A1"');
    expect(() => withLoopProbe(twoPoles(), 'RF', 'a')).toThrow('RF: expected an end at node "a" for a loop probe, got out and f');
    const system = assembleCircuit(twoPoles());
    expect(() => loopGain(system, findOperatingPoint(system), 'nobody', [1])).toThrow('expected a voltage source "nobody" as a loop probe');
    const atGround = assembleCircuit(withLoopProbe(twoPoles(), 'RG', 'ground'));
    expect(() => loopGain(atGround, findOperatingPoint(atGround), loopProbeName, [1])).toThrow('one with an end at ground');
  });
});

describe('phase margin', () => {
  const margin = (feedbackOhms: number): ReturnType<typeof phaseMargin> => phaseMargin((hz) => twoPolesGain(hz, feedbackOhms), 1, 1e9);

  it.each([10e3, 1e3, 100])('of two poles at a feedback of %d Ω over 1 kΩ, where the crossing solves a quadratic', (feedbackOhms) => {
    // |T| = 1: (1 + (f/f1)²)(1 + (f/f2)²) = T0².
    const [a, b, c] = [1 / (firstHz * secondHz) ** 2, firstHz ** -2 + secondHz ** -2, 1 - (1e5 / (1 + feedbackOhms / 1e3)) ** 2];
    const hz = Math.sqrt((-b + Math.sqrt(b * b - 4 * a * c)) / (2 * a));
    const degrees = 180 - (180 / Math.PI) * (Math.atan(hz / firstHz) + Math.atan(hz / secondHz));
    const system = assembleCircuit(withLoopProbe(twoPoles(feedbackOhms), 'RF', 'out'));
    const found = phaseMargin(loopGainOf(system, findOperatingPoint(system), loopProbeName), 1, 1e9)!;
    expect(Math.abs(found.hz / hz - 1)).toBeLessThan(1e-5);
    expect(Math.abs(found.marginDegrees - degrees), `${found.marginDegrees}, expected ${degrees}`).toBeLessThan(1e-3);
    expect(margin(feedbackOhms)!.marginDegrees).toBeCloseTo(found.marginDegrees, 6);
  });

  it('is negative where three poles turn the phase past −180°', () => {
    const threePoles = (hz: number): Complex => times(real(1e5), times(times(pole(hz, 1e3), pole(hz, 1e4)), pole(hz, 1e5)));
    const found = phaseMargin(threePoles, 1, 1e9)!;
    const expected = 180 - (180 / Math.PI) * (Math.atan(found.hz / 1e3) + Math.atan(found.hz / 1e4) + Math.atan(found.hz / 1e5));
    expect(expected).toBeLessThan(-20);
    expect(Math.abs(found.marginDegrees - expected)).toBeLessThan(1e-6);
  });

  it('is none where the gain never falls through 1', () => {
    expect(phaseMargin(() => real(0.5), 1, 1e6)).toBeNull();
    expect(phaseMargin(() => real(2), 1, 1e6)).toBeNull();
  });
});
