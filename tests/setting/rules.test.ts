import { describe, expect, it } from 'vitest';
import type { IntegrationRule } from '../../dsp/circuit/index.ts';
import type { PathPlan, PlannedProgram } from '../../dsp/path/index.ts';
import { compareRules, ruleWords, stageRules } from '../../dsp/setting/index.ts';
import { pathOf, planOf } from '../path/support.ts';

/** The planned program with another choice of rule. */
function chosen(planned: PlannedProgram, rule: IntegrationRule, errorDb: number): PlannedProgram {
  const { program } = planned;
  if (program.kind !== 'circuit') throw new Error('expected a circuit');
  return { ...planned, program: { ...program, circuit: { ...program.circuit, rule, ruleChoice: { grade: 'listening', errorDb, limitDb: 0.05 } } } };
}

describe('rules of a path', () => {
  it('stand in the order of its stages, with none for a stage that is no circuit or out of circuit', () => {
    const path = pathOf(['harmonic-shaping', { stage: 'push-pull', inCircuit: false }, 'single-ended-bipolar']);
    const plan = planOf(path);
    const stages = plan.stages.map((stage) => (stage.stage === 'harmonic-shaping' ? stage : { ...stage, wired: chosen(stage.wired, 'T12', 0.0123) }));
    expect(stageRules(path, { ...plan, stages })).toEqual([null, null, { rule: 'T12', errorDb: 0.0123 }]);
  });

  it('are those of the path as it plays, when a stage on trial is out of circuit', () => {
    const path = pathOf([{ stage: 'push-pull', inCircuit: false }, 'single-ended-bipolar']);
    const plan: PathPlan = planOf(path, { kind: 'stage', key: 's1' });
    const [onTrial, behind] = plan.stages;
    const stages = [{ ...onTrial!, wired: chosen(onTrial!.wired, 'T24', 0.01) }, { ...behind!, wired: chosen(behind!.wired, 'T12', 0.02) }];
    const trial = { ...plan.trial!, without: plan.trial!.without.map((stage) => ({ ...stage, wired: chosen(stage.wired, 'T1', 0.03) })) };
    expect(stageRules(path, { ...plan, stages, trial })).toEqual([null, { rule: 'T1', errorDb: 0.03 }]);
    const inCircuit = { ...path, stages: path.stages.map((stage) => ({ ...stage, inCircuit: true })) };
    expect(stageRules(inCircuit, { ...plan, stages, trial })).toEqual([{ rule: 'T24', errorDb: 0.01 }, { rule: 'T12', errorDb: 0.02 }]);
  });

  it('are compared by rule, not by estimate', () => {
    const stored = [{ rule: 'T1', errorDb: 0.01 }, { rule: 'T12', errorDb: 0.02 }, null] as const;
    expect(compareRules(stored, [{ rule: 'T1', errorDb: 0.04 }, { rule: 'T12', errorDb: 0.02 }, null])).toEqual([]);
    expect(compareRules(stored, [{ rule: 'T24', errorDb: 0.01 }, null, null])).toEqual([
      { stageIndex: 0, expected: stored[0], chosen: { rule: 'T24', errorDb: 0.01 } },
      { stageIndex: 1, expected: stored[1], chosen: null },
    ]);
  });

  it('are told with their estimate', () => {
    expect(ruleWords({ rule: 'T12', errorDb: 0.0312 })).toBe('integrated as T12, error at 10 kHz 0.03 dB');
    expect(ruleWords({ rule: 'T1', errorDb: 0.00042 })).toBe('integrated as T1, error at 10 kHz under 0.001 dB');
    expect(ruleWords({ rule: 'T24', errorDb: 400 })).toBe('integrated as T24, error at 10 kHz not known');
  });
});
