// The choice of the integration rule: its estimates against converged harmonics, and what it does where there is little to judge.
import { afterEach, describe, expect, it } from 'vitest';
import {
  buildProgram, buildProgramFamily, chooseFrequency, chooseRule, cosineDrive, findClipping, measureCircuit, solveSteadyState, steadyHarmonics, withRule,
} from '../../dsp/circuit/index.ts';
import type { CircuitProgram, IntegrationRule } from '../../dsp/circuit/index.ts';
import { ruleErrorsDb } from '../../dsp/circuit/integration-rule.ts';
import { installWebAssembly } from '../../dsp/webassembly/index.ts';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import { capacitor, input, parsedOf, resistor } from '../support/circuits.ts';
import { convergedFigures } from '../support/converged.ts';
import { circuitDesign, circuitDesigns } from '../support/documents.ts';
import { unstableOpAmpLoop } from '../support/unstable.ts';
import { expectWithin, rateHz } from './support.ts';

const rules: readonly IntegrationRule[] = ['T1', 'T12', 'T24'];

function familyOf(name: string, atHz = rateHz): CircuitProgram {
  const { document, nominalPeakVolts } = circuitDesign(name);
  return buildProgramFamily(document(), { rateHz: atHz, nominalPeakVolts });
}

/** Worst of orders 1–5 against the converged reference, dB; differences under −150 dB of the fundamental are none. */
function trueErrorDb(family: CircuitProgram, rule: IntegrationRule, peakVolts: number, reference: readonly number[]): number {
  const frequency = chooseFrequency(10_000, family.rateHz);
  const steady = solveSteadyState(withRule(family, rule), { input: cosineDrive(frequency, peakVolts), cycles: frequency.cycles }, { wantSpectralRadius: false });
  const { amplitudes } = steadyHarmonics(steady, frequency.cycles, reference.map((_, k) => k + 1));
  const errors = reference.map((volts, k) => (Math.abs(amplitudes[k]! - volts) <= 10 ** (-150 / 20) * reference[0]! ? 0 : Math.abs(20 * Math.log10(amplitudes[k]! / volts))));
  return Math.max(...errors);
}

afterEach(() => { installWebAssembly(null); });

describe('estimates at 10 kHz, 48 kHz × 8', () => {
  const judged = convergedFigures().figures.filter(({ frequencyHz }) => frequencyHz === 10_000 );

  it.each(judged.map((figure) => [`${figure.circuit}, ${figure.level}`, figure] as const))('bound the true errors of all three rules: %s', (_, figure) => {
    const family = familyOf(figure.circuit);
    const estimates = ruleErrorsDb(family, figure.peakVolts);
    const reference = figure.harmonics.slice(0, 5).map(({ peakVolts }) => peakVolts);
    rules.forEach((rule, k) => {
      const trueDb = trueErrorDb(family, rule, figure.peakVolts, reference);
      // 3 %: an order that stands at the −150 dB below which differences count as none may be left out of one of the two.
      expect(trueDb <= 1.03 * estimates[k]! + 0.0005, `${rule}: true ${trueDb} dB, estimated ${estimates[k]} dB`).toBe(true);
      // Nor is a cheap rule frightened away: twice the error, or what no grade asks for. (The pair near class B is beyond what differences of rules can tell.)
      if (!figure.circuit.endsWith('near-b')) expect(estimates[k]! <= 2 * trueDb + 0.01, `${rule}: true ${trueDb} dB, estimated ${estimates[k]} dB`).toBe(true);
    });
  });

  it('fall by 12 dB per octave of the rate under T1', () => {
    const { nominalPeakVolts } = circuitDesign('op-amp-loop');
    const [coarse, fine] = [rateHz, 2 * rateHz].map((hz) => ruleErrorsDb(familyOf('op-amp-loop', hz), nominalPeakVolts)[0]!);
    expectWithin(20 * Math.log10(coarse! / fine!), 12.04, 0.5, 'dB per octave');
  });
});

describe('the choice', () => {
  it('takes the cheapest rule within the limit, and says what is expected of it', () => {
    for (const { name, nominalPeakVolts } of circuitDesigns) {
      const family = familyOf(name);
      const nominal = ruleErrorsDb(family, nominalPeakVolts);
      const { rule, choice } = chooseRule(family, 'listening', nominalPeakVolts);
      expect(rule, name).toBe(rules[nominal.findIndex((db) => db <= 0.05)]);
      expect(choice).toEqual({ grade: 'listening', limitDb: 0.05, errorDb: nominal[rules.indexOf(rule)] });
      const measuring = chooseRule(family, 'measuring', nominalPeakVolts);
      expect(rules.indexOf(measuring.rule), name).toBeGreaterThanOrEqual(rules.indexOf(rule));
      if (measuring.choice.errorDb > measuring.choice.limitDb) expect(measuring.rule, name).toBe('T24');
      // 0.005 dB at nominal level, 0.01 dB where it clips.
      expect(ruleErrorsDb(family, nominalPeakVolts)[rules.indexOf(measuring.rule)]! <= 0.005 || measuring.rule === 'T24', name).toBe(true);
      expect([0.005, 0.01]).toContain(measuring.choice.limitDb);
    }
  });

  it('is one of each over the judged circuits', () => {
    const chosen = (name: string, grade: 'listening' | 'measuring'): string => chooseRule(familyOf(name), grade, circuitDesign(name).nominalPeakVolts).rule;
    expect(chosen('push-pull-pair', 'listening')).toBe('T1');
    expect(chosen('op-amp-loop', 'listening')).toBe('T12');
    expect(chosen('op-amp-loop', 'measuring')).toBe('T24');
  });

  it('judges the measuring grade where 1 kHz THD reaches 1 %, too', () => {
    const { nominalPeakVolts } = circuitDesign('op-amp-loop');
    const family = familyOf('op-amp-loop');
    const crossing = findClipping(withRule(family, 'T1'), { referencePeakVolts: nominalPeakVolts, lowestDb: -24, highestDb: 20, coarseDb: 4, fineDb: 0.5 })!;
    expect(crossing.below.thd).toBeLessThan(0.01);
    expect(crossing.above.thd).toBeGreaterThanOrEqual(0.01);
    expect(crossing.above.levelDb - crossing.below.levelDb).toBe(0.5);
    const measured = measureCircuit(withRule(family, 'T1'), { frequencyHz: 1000, peakVolts: nominalPeakVolts * 10 ** (crossing.above.levelDb / 20), orders: [2, 3, 4, 5, 6, 7, 8, 9] });
    if (measured.oscillates) throw new Error('expected harmonics');
    expectWithin(measured.thd.f, crossing.above.thd, 1e-6);
    const louder = ruleErrorsDb(family, nominalPeakVolts * 10 ** (crossing.above.levelDb / 20));
    const { rule, choice } = chooseRule(family, 'measuring', nominalPeakVolts);
    expect(louder[rules.indexOf(rule)]!).toBeGreaterThan(ruleErrorsDb(family, nominalPeakVolts)[rules.indexOf(rule)]!);
    expectWithin(choice.errorDb, louder[rules.indexOf(rule)]!, 1e-6);
  });

  it('is a function of the circuit alone: not of what was solved before, nor of the back end', () => {
    const { nominalPeakVolts } = circuitDesign('op-amp-loop');
    const family = familyOf('op-amp-loop');
    const first = chooseRule(family, 'measuring', nominalPeakVolts);
    expect(installCompiledCode()).toBeNull();
    expect(chooseRule(family, 'measuring', nominalPeakVolts)).toStrictEqual(first);
    chooseRule(familyOf('five-transistor'), 'listening', 0.385);
    expect(chooseRule(familyOf('op-amp-loop'), 'measuring', nominalPeakVolts)).toStrictEqual(first);
  });

  it('is reported with a measurement', () => {
    const { document, nominalPeakVolts } = circuitDesign('common-emitter');
    const program = buildProgram(document(), { rateHz, nominalPeakVolts, rule: 'listening' });
    const measured = measureCircuit(program, { frequencyHz: 1000, peakVolts: nominalPeakVolts, orders: [2] });
    if (measured.oscillates) throw new Error('expected harmonics');
    expect(measured.solver).toMatchObject({ rule: 'T12', ruleLimitDb: 0.05, ruleErrorDb: program.ruleChoice!.errorDb });
    const named = measureCircuit(buildProgram(document(), { rateHz, nominalPeakVolts, rule: 'T12' }), { frequencyHz: 1000, peakVolts: nominalPeakVolts, orders: [2] });
    expect(Object.keys((named as typeof measured).solver)).not.toContain('ruleErrorDb');
  });
});

describe('where there is little to judge', () => {
  it('T1 does for what has no memory, and for what is silent', () => {
    const divider = buildProgramFamily(parsedOf([input('a'), resistor('R1', 'a', 'b', 1000), resistor('R2', 'b', 'ground', 1000)], ['b', 'ground']), { rateHz });
    const silent = buildProgramFamily(parsedOf([input('a'), resistor('R1', 'a', 'ground', 1000), resistor('R2', 'b', 'ground', 1000), capacitor('C1', 'b', 'ground', 1e-9)], ['b', 'ground']), { rateHz });
    for (const family of [divider, silent]) {
      for (const grade of ['listening', 'measuring'] as const) {
        const { rule, choice } = chooseRule(family, grade, 1.7);
        expect(rule).toBe('T1');
        // What the cubic's rounding leaves is far below −150 dB.
        expect(choice.errorDb).toBe(0);
      }
    }
  });

  it('a circuit that oscillates gets T24 and no estimate', () => {
    const family = buildProgramFamily(unstableOpAmpLoop(2.8e-9), { rateHz });
    for (const grade of ['listening', 'measuring'] as const) expect(chooseRule(family, grade, 0.87)).toMatchObject({ rule: 'T24', choice: { errorDb: Infinity } });
  });

  it('at the base rate orders above half the rate are left to the aliases, and the cubic may be worse than none', () => {
    // A line transformer at 48 kHz: converged fundamental and H2 at 10 kHz are nearest under T1, whose estimate says so.
    const { nominalPeakVolts } = circuitDesign('transformer-line');
    const family = familyOf('transformer-line', 48_000);
    const figure = convergedFigures().figures.find(({ circuit, level, frequencyHz }) => circuit === 'transformer-line' && level === 'nominal' && frequencyHz === 10_000)!;
    const reference = figure.harmonics.slice(0, 2).map(({ peakVolts }) => peakVolts);
    const truth = rules.map((rule) => trueErrorDb(family, rule, nominalPeakVolts, reference));
    expect(truth[0]!).toBeLessThan(Math.min(truth[1]!, truth[2]!));
    const { rule, choice } = chooseRule(family, 'listening', nominalPeakVolts);
    expect(rule).toBe('T1');
    expect(choice.errorDb).toBeGreaterThan(0.05);
    expectWithin(choice.errorDb, truth[0]!, 0.02, 'dB');
  });

  it.each([44_100, 352_800, 705_600, 3_072_000])('works at %d Hz', (atHz) => {
    const { nominalPeakVolts } = circuitDesign('common-emitter');
    const { choice } = chooseRule(familyOf('common-emitter', atHz), 'listening', nominalPeakVolts);
    expect(choice.errorDb).toBeGreaterThan(0);
    expect(Number.isFinite(choice.errorDb)).toBe(true);
    if (atHz > 300_000) expect(choice.errorDb).toBeLessThan(0.05);
  });
});
