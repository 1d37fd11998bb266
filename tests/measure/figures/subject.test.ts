import { describe, expect, it } from 'vitest';
import { buildProgram, measureCircuit } from '../../../dsp/circuit/index.ts';
import { measurePath } from '../../../dsp/measure/index.ts';
import {
  coherentTone, factsOf, factsOfSetting, harmonicsOf, refuseFrequency, refuseScope, scopeWords, subjectOfDocument, subjectOfSetting, type FigureSubject,
} from '../../../dsp/measure/figures/index.ts';
import { defaultValues, stageById } from '../../../dsp/stages/index.ts';
import { supply } from '../../../dsp/path/index.ts';
import { openingSetting } from '../../../dsp/setting/index.ts';
import { finished } from '../../../ui/command-line/finished.ts';
import { unstableOpAmpLoop } from '../../support/unstable.ts';

const { path, joints } = openingSetting();
const programme = { title: 'clarinet', rateHz: 48_000, channels: [new Float64Array(480)], startSeconds: 2 };
const subject = subjectOfSetting({ path, joints, baseRateHz: 48_000, scope: { kind: 'path' }, programme });

const toneOf = (of: FigureSubject, peakVolts: number) => ({ frequency: coherentTone(of, 1000), peakVolts });

describe('what a figure is measured of', () => {
  it('is the path at the measuring grade without the noise that plays, its facts the same with and without a plan', () => {
    const noisy = subjectOfSetting({ path: { ...path, supply: { ...defaultValues(supply), noise: 'noise-alone' } }, joints, baseRateHz: 48_000, scope: { kind: 'path' }, programme: null });
    expect(noisy.plan.grade).toBe('measuring');
    expect(noisy.plan.stages.every(({ noise }) => noise === undefined)).toBe(true);
    expect(noisy.path?.supply).not.toBeNull();
    expect(factsOf(subject)).toEqual(factsOfSetting({ path, baseRateHz: 48_000, scope: { kind: 'path' }, programme }));
    expect(factsOf(subject).programme).toEqual({ title: 'clarinet', rateHz: 48_000, frames: 480, startSeconds: 2 });
  });

  it('has the harmonics that the path has, whole and of a stage alone', () => {
    for (const scope of [{ kind: 'path' }, { kind: 'stage', key: 's2' }] as const) {
      const found = finished(harmonicsOf({ ...subject, scope }, toneOf(subject, 1.7), [2, 3, 5]));
      const expected = measurePath(subject.plan, { frequencyHz: 1000, peakVolts: 1.7, scope, orders: [2, 3, 5] });
      if (expected.oscillates) throw new Error('oscillates');
      expect(found.harmonics).toEqual(expected.harmonics);
      expect(found.fundamental).toEqual(expected.fundamental);
    }
  });

  it('may be a circuit by itself, in its own volts', () => {
    const document = stageById('push-pull').circuit(defaultValues(stageById('push-pull')), null)!;
    const alone = subjectOfDocument(document, 384_000);
    const found = finished(harmonicsOf(alone, toneOf(alone, 2), [2, 3]));
    const expected = measureCircuit(buildProgram(document, { rateHz: 384_000, rule: 'measuring' }), { frequencyHz: 1000, peakVolts: 2, orders: [2, 3] });
    if (expected.oscillates) throw new Error('oscillates');
    // The rest is taken off before the projection: rounding alone tells them apart.
    found.harmonics.forEach(({ db }, k) => expect(Math.abs(db - expected.harmonics[k]!.db) <= 1e-6, `${db}`).toBe(true));
    expect(scopeWords(alone)).toBe('circuit by itself');
    expect(refuseScope(alone)).toBeNull();
  });

  it('says in a sentence why there is nothing to measure', () => {
    const facts = factsOf(subject);
    expect(refuseScope(facts)).toBeNull();
    const out = { ...path, stages: path.stages.map((stage) => ({ ...stage, inCircuit: false })) };
    expect(refuseScope({ ...facts, path: out })).toContain('No stage is in circuit');
    expect(refuseScope({ path: out, scope: { kind: 'stage', key: 's2' } })).toBe('Stage 2 is out of circuit: switch it in to measure it at its working level.');
    expect(refuseScope({ path, scope: { kind: 'stage', key: 's9' } })).toContain('No stage is open');
    expect(refuseFrequency(facts, 96_000)).toBeNull();
    expect(refuseFrequency(facts, 96_001)).toContain('at most 96000 Hz');
    expect(refuseFrequency(facts, NaN)).toContain('got NaN');
  });

  it('names what oscillates', () => {
    const loop = subjectOfDocument(unstableOpAmpLoop(1e-8), 384_000);
    expect(() => finished(harmonicsOf(loop, toneOf(loop, 0.1), [2]))).toThrow(/The circuit oscillates or is bistable \(spectral radius/);
  });
});
