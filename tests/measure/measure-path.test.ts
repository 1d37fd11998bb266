import { describe, expect, it } from 'vitest';
import { buildProgram, measureCircuit } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { matchPathInSteps, measurePath, measurePathInSteps, probePeakVolts, type PathHarmonics, type PathMeasurement } from '../../dsp/measure/index.ts';
import type { PathPlan } from '../../dsp/path/index.ts';
import { openingSetting } from '../../dsp/setting/index.ts';
import { SeededRandom } from '../../dsp/math/index.ts';
import { measureLoudness } from '../../dsp/listening/index.ts';
import { nearClassBDesign } from '../support/documents.ts';
import { resonantCircuit, transconductorPair, unstableOpAmpLoop } from '../support/unstable.ts';
import { componentPeak, nominalPeak, pathOf, planOf, plucked, rateHz, renderAll, renderInPieces, sine, threeStages, toDb } from '../path/support.ts';

function harmonicsOf(measurement: PathMeasurement): PathHarmonics {
  if (measurement.oscillates) throw new Error(`${measurement.stageKey} oscillates`);
  return measurement;
}

const probe = { frequencyHz: 1000, peakVolts: probePeakVolts(4), scope: { kind: 'path' } } as const;

describe('harmonics of a path by steady state', () => {
  it('are those of the path run in time: three stages, the second with audible crossover', () => {
    const plan = planOf(openingSetting().path);
    const measured = harmonicsOf(measurePath(plan, probe));
    const settle = 1.25 * rateHz;
    const window = renderInPieces(plan, sine(1000, nominalPeak, settle + 5000), [1024]).slice(settle, settle + 4800);
    const fundamental = componentPeak(window, 100);
    // 0.01 dB: ripple of the ladder, and what is left of settling.
    expect(Math.abs(toDb(fundamental / nominalPeak) + 4 - measured.fundamentalDbu) <= 0.01).toBe(true);
    for (const { order, db } of measured.harmonics.filter((harmonic) => harmonic.db > -120)) {
      const heard = toDb(componentPeak(window, 100 * order) / fundamental);
      expect(Math.abs(heard - db) <= (db > -100 ? 0.1 : 1), `H${order}: heard ${heard}, measured ${db}`).toBe(true);
    }
    expect(measured.joints.map(({ key }) => key)).toEqual(['s1', 's2', 's3']);
    expect(Math.abs(measured.joints[2]!.levelDbu - measured.fundamentalDbu) <= 1e-9).toBe(true);
    expect(measured.solver).toMatchObject({ method: 'shooting', rule: 'T1', capHits: 0 });
    expect(measured.solver.spectralRadius).toBeLessThan(1);
  });

  it('do not depend on what was measured before', () => {
    const memory = new Map();
    const plan = planOf(pathOf(threeStages));
    const cold = harmonicsOf(measurePath(plan, probe));
    measurePath(planOf(pathOf([{ stage: 'single-ended-bipolar', values: { collectorOhms: 4700, driveDb: 6 } }, 'push-pull'])), probe, memory);
    const warm = harmonicsOf(measurePath(plan, probe, memory));
    warm.harmonics.forEach(({ db, order }, k) => {
      // 0.01 dB at −120 dB: shooting stops at 1e-9 of a volt.
      if (db > -120) expect(Math.abs(db - cold.harmonics[k]!.db) <= 0.01, `H${order}`).toBe(true);
    });
  });

  it('of one stage alone are taken at the level that reaches it, without the harmonics of those before', () => {
    const plan = planOf(pathOf([{ stage: 'harmonic-shaping', values: { makeUpDb: -10, thirdSign: 'off' } }, 'push-pull']));
    const alone = harmonicsOf(measurePath(plan, { ...probe, scope: { kind: 'stage', key: 's2' } }));
    const lower = harmonicsOf(measurePath(planOf(pathOf(['push-pull'])), { ...probe, peakVolts: probePeakVolts(-6) }));
    expect(Math.abs(alone.fundamentalDbu - lower.fundamentalDbu) <= 0.01).toBe(true);
    const secondOf = (measurement: PathHarmonics): number => measurement.harmonics[0]!.db;
    const whole = harmonicsOf(measurePath(plan, probe));
    expect(secondOf(whole)).toBeGreaterThan(-62);
    expect(secondOf(alone)).toBeLessThan(-100);
    expect(() => measurePath(plan, { ...probe, scope: { kind: 'stage', key: 's7' } })).toThrow('expected one in circuit (s1, s2), got s7');
  });

  it('keep their levels and signs when the path is turned: signs are counted from the output\'s own polarity', () => {
    const straight = harmonicsOf(measurePath(planOf(pathOf(['harmonic-shaping'])), probe));
    const turned = harmonicsOf(measurePath(planOf(pathOf([{ stage: 'harmonic-shaping', reversed: true }])), probe));
    straight.harmonics.slice(0, 2).forEach(({ order, signedRatio }, k) => {
      expect(Math.abs(turned.harmonics[k]!.signedRatio / signedRatio - 1) <= 1e-6, `H${order}`).toBe(true);
    });
    const apart = Math.abs(turned.fundamental.phaseDegrees - straight.fundamental.phaseDegrees);
    expect(Math.abs(apart - 180) <= 1e-6).toBe(true);
  });

  it('of a circuit are those of all its steps, as measured alone, whatever gains and polarity stand round it', () => {
    // Folded at the samples alone its H3 and H5 would be 0.17 dB off at 10 kHz.
    const { document, nominalPeakVolts } = nearClassBDesign;
    const circuit = buildProgram(document(), { rateHz: 8 * rateHz, nominalPeakVolts, rule: 'T24' });
    const template = planOf(pathOf(['push-pull']));
    const alone = measureCircuit(circuit, { frequencyHz: 10_000, peakVolts: nominalPeakVolts, orders: [2, 3, 4, 5] });
    if (alone.oscillates) throw new Error('expected harmonics');
    for (const reversed of [false, true]) {
      const plan = { ...template, stages: template.stages.map((stage) => ({ ...stage, reversed, wired: { identity: 'x', program: { kind: 'circuit' as const, circuit, inputGain: 2, outputGain: 0.5 } } })) };
      for (const scope of [{ kind: 'path' }, { kind: 'stage', key: 's1' }] as const) {
        const measured = harmonicsOf(measurePath(plan, { frequencyHz: 10_000, peakVolts: nominalPeakVolts / 2, scope, orders: [2, 3, 4, 5] }));
        const sign = reversed ? -1 : 1;
        expect(Math.abs(measured.fundamental.peakVolts - 0.5 * alone.fundamental.peakVolts) <= 1e-9).toBe(true);
        expect(Math.abs(measured.dcVolts - 0.5 * sign * (alone.dcVolts - alone.restVolts)) <= 1e-9).toBe(true);
        const turned = ((measured.fundamental.phaseDegrees - alone.fundamental.phaseDegrees + 540) % 360) - 180;
        expect(Math.abs(Math.abs(turned) - (reversed ? 180 : 0)) <= 1e-6, `${turned} degrees`).toBe(true);
        // 1e-4 of the odd ones: shooting stops at 1e-9 of a volt.
        for (const k of [1, 3]) expect(Math.abs(measured.harmonics[k]!.signedRatio / alone.harmonics[k]!.signedRatio - 1) <= 1e-4, `H${k + 2}`).toBe(true);
        if (scope.kind === 'path') expect(measured.joints).toEqual([{ key: 's1', levelDbu: measured.fundamentalDbu }]);
      }
    }
  });

  it('pause between stages, so that a newer request can take over', () => {
    const steps = measurePathInSteps(planOf(pathOf(threeStages)), probe);
    let pauses = 0;
    while (!steps.next().done) pauses += 1;
    expect(pauses).toBe(3);
  });

  it.each([
    ['an op-amp loop with one pole too many', unstableOpAmpLoop(2.8e-9), unstableOpAmpLoop(0.7e-9)], ['a bistable pair', transconductorPair(1500), transconductorPair(900)],
    ['a resonant circuit kept going', resonantCircuit(1e-3), resonantCircuit(0.05e-3)],
  ] as const)('are refused for %s, wherever it stands, and not below its limit', (_, unstable, stable) => {
    const template = planOf(pathOf(['push-pull', 'push-pull']));
    const planWith = (document: CircuitDocument): PathPlan => {
      const circuit = buildProgram(document, { rateHz: 8 * rateHz });
      return { ...template, stages: template.stages.map((stage, k) => (k === 0 ? stage : { ...stage, wired: { identity: 'x', program: { kind: 'circuit', circuit, inputGain: 1, outputGain: 1 } } })) };
    };
    const memory = new Map();
    for (const scope of [{ kind: 'path' }, { kind: 'stage', key: 's2' }] as const) {
      const measured = measurePath(planWith(unstable), { ...probe, scope, peakVolts: 0.01 }, memory);
      expect(Object.keys(measured).sort()).toEqual(['oscillates', 'spectralRadius', 'stageKey']);
      expect(measured).toMatchObject({ oscillates: true, stageKey: 's2' });
      expect((measured as { spectralRadius: number }).spectralRadius).toBeGreaterThan(1);
      expect(measurePath(planWith(stable), { ...probe, scope, peakVolts: 0.01 }, memory).oscillates).toBeUndefined();
    }
  });
});

describe('level match of a path', () => {
  const loop = plucked(48_000, 0.3);
  const matchOf = (request: Parameters<typeof matchPathInSteps>[0]) => {
    const steps = matchPathInSteps(request);
    for (;;) {
      const step = steps.next();
      if (step.done) return step.value;
    }
  };

  it('turns the louder way down, and leaves them equally loud at the full factor, second pass', () => {
    const path = pathOf([{ stage: 'push-pull', values: { makeUpDb: 6, quiescentAmperes: 2e-4 } }]);
    const match = matchOf({ path, baseRateHz: rateHz, onTrial: { kind: 'path' }, channels: [loop] });
    if (match.kind !== 'matched') throw new Error(match.sentence);
    expect(match.outGainDb).toBe(0);
    expect(match.inGainDb).toBeLessThan(-4);
    const gain = 10 ** (match.inGainDb / 20);
    const inCircuit = renderAll(planOf(path), [loop], { passes: 2, gains: { inGain: gain, outGain: 1 } });
    const out = renderAll(planOf(path), [loop], { passes: 2, trialIn: false });
    const apart = measureLoudness(inCircuit, rateHz).integratedLufs - measureLoudness(out, rateHz).integratedLufs;
    // 0.01 LU: half the internal rate is measured at, and the path is warmed up by no more than 3 s.
    expect(Math.abs(apart) <= 0.01, `${apart} LU apart`).toBe(true);
  });

  it.each([['push-pull'], ['transformer-output'], ['equaliser-shelf']])('agrees with what is played of %s to 0.01 dB in white noise, ladder and all', (stage) => {
    const path = pathOf([stage]);
    const random = new SeededRandom(20261126);
    const loud = Float64Array.from({ length: 48_000 }, () => 0.25 * (2 * random.nextUnit() - 1));
    const match = matchOf({ path, baseRateHz: rateHz, onTrial: { kind: 'path' }, channels: [loud] });
    if (match.kind !== 'matched') throw new Error(match.sentence);
    const [played, without] = [true, false].map((trialIn) => measureLoudness(renderAll(planOf(path), [loud], { passes: 2, trialIn }), rateHz).integratedLufs) as [number, number];
    const off = played + match.inGainDb - without - match.outGainDb;
    expect(Math.abs(off) <= 0.01, `${off} dB`).toBe(true);
  });

  it('compares a stage on trial with the path without it', () => {
    const path = pathOf([{ stage: 'harmonic-shaping', values: { makeUpDb: -6 } }, { stage: 'push-pull', values: { makeUpDb: 3 } }]);
    const match = matchOf({ path, baseRateHz: rateHz, onTrial: { kind: 'stage', key: 's1' }, channels: [loop] });
    if (match.kind !== 'matched') throw new Error(match.sentence);
    // The shaping stage is at unity gain but for its make-up of −6 dB, so out is turned down by 6 dB; 0.2 dB for what its harmonics add.
    expect(Math.abs(match.outGainDb + 6) <= 0.2, `${match.outGainDb} dB`).toBe(true);
    expect(match.inGainDb).toBe(0);
  });

  it('says why when it cannot', () => {
    expect(matchOf({ path: pathOf(['push-pull']), baseRateHz: rateHz, onTrial: { kind: 'path' }, channels: [new Float64Array(48_000)] })).toMatchObject({ kind: 'cannot-match' });
  });
});
