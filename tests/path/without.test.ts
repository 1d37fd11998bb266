import { describe, expect, it } from 'vitest';
import { buildProgram, circuitAtRest, withoutParts } from '../../dsp/circuit/index.ts';
import { pathMechanisms, planPath, planWithoutMechanism, plannedCircuit } from '../../dsp/path/index.ts';
import type { OnTrial, PathPlan, PathSetting } from '../../dsp/path/index.ts';
import { dbuToPeakVolts, lineLevelDbu } from '../../dsp/stages/index.ts';
import { firstDifference, pathOf, planOf, plucked, rateHz, renderAll, threeStages } from './support.ts';

const without = (key: string, mechanism: string): OnTrial => ({ kind: 'without', key, mechanism });
const setting = pathOf([...threeStages]);
const frames = 4800;
const programme = [plucked(frames, 0.4)];

const heard = (plan: PathPlan, trialIn = true): Float64Array => renderAll(plan, programme, trialIn ? {} : { trialIn: false })[0]!;
const alone = (plan: PathPlan): PathPlan => ({ ...plan, onTrial: { kind: 'path' }, trial: null });

/** The path with one planned stage's circuit made anew by hand, under the rule that plays. */
function withCircuit(path: PathSetting, at: number, prefix: string, names: readonly string[]): PathPlan {
  const plan = planOf(path);
  const stage = plan.stages[at]!;
  const { program } = stage.wired;
  if (program.kind !== 'circuit') throw new Error('expected a circuit');
  const document = withoutParts(circuitAtRest(plannedCircuit(path, stage)!), [{ kind: 'tangent', devices: names.map((name) => ({ name, part: 'exponential' as const })) }], prefix);
  const circuit = buildProgram(document, { rateHz: rateHz * 8, rule: program.circuit.rule, nominalPeakVolts: dbuToPeakVolts(lineLevelDbu) });
  return { ...plan, stages: plan.stages.map((other, k) => (k === at ? { ...stage, wired: { identity: 'by hand', program: { ...program, circuit } } } : other)) };
}

describe('a mechanism on trial', () => {
  it('in is the path as it is, out the path with the linearised circuit rendered alone, to the bit', () => {
    const plan = planOf(setting, without('s2', 'crossover'));
    expect(plan.trial).toMatchObject({ first: 1, end: 2, turned: false });
    expect(plan.stages.map(({ wired }) => wired.identity)).toEqual(planOf(setting).stages.map(({ wired }) => wired.identity));
    expect(firstDifference(heard(plan), heard(planOf(setting)))).toBe(-1);
    expect(firstDifference(heard(plan, false), heard(withCircuit(setting, 1, '', ['Q1', 'Q2'])))).toBe(-1);
    expect(firstDifference(heard(plan, false), heard(plan))).toBeGreaterThanOrEqual(0);
  });

  it('of a stage that is joined to another, by its names there', () => {
    const joined = pathOf(['single-ended-bipolar', { stage: 'push-pull', joined: true }]);
    const plan = planOf(joined, without('s1', 'exponential'));
    expect(plan.stages).toHaveLength(1);
    expect(plan.trial).toMatchObject({ first: 0, end: 1 });
    expect(firstDifference(heard(plan, false), heard(withCircuit(joined, 0, '1 ', ['Q1'])))).toBe(-1);
  });

  it('a term of the shaping law is taken away by its value', () => {
    const plan = planOf(setting, without('s3', 'third-order'));
    const third = setting.stages[2]!;
    const changed = { ...setting, stages: [...setting.stages.slice(0, 2), { ...third, values: { ...third.values, thirdSign: 'off' } }] };
    expect(plan.trial).toMatchObject({ first: 2, end: 3 });
    expect(firstDifference(heard(plan, false), heard(planOf(changed)))).toBe(-1);
  });

  it('loading: the stage on an ideal source, its joint undone', () => {
    for (const joined of [false, true]) {
      const path = pathOf(['single-ended-bipolar', { stage: 'push-pull', joined }]);
      const plan = planOf(path, without('s2', 'loading'));
      expect(plan.trial!.without.map(({ key, source }) => [key, source])).toEqual(joined ? [['s1', null], ['s2', null]] : [['s2', null]]);
      const ideal = planOf(pathOf(['push-pull'])).stages[0]!;
      expect(plan.trial!.without.at(-1)!.wired.identity).toBe(ideal.wired.identity);
    }
  });

  it('made from a plan of before it is the same', () => {
    const plan = planOf(setting);
    for (const { key, mechanism } of pathMechanisms(setting)) {
      const again = planWithoutMechanism(setting, plan, { key, removal: mechanism.removal })!;
      const planned = planOf(setting, without(key, mechanism.id)).trial!;
      expect([again.first, again.end, again.without.map(({ wired }) => wired.identity)]).toEqual([planned.first, planned.end, planned.without.map(({ wired }) => wired.identity)]);
    }
  });

  it('one that the stage does not have leaves both ways alike; a stage that is not there is refused', () => {
    const plan = planOf(setting, without('s2', 'heat'));
    expect(plan.trial).toBeNull();
    expect(firstDifference(heard(plan, false), heard(alone(plan)))).toBe(-1);
    expect(() => planOf(setting, without('s9', 'crossover'))).toThrow("on trial: expected one of the path's stages (s1, s2, s3), got s9");
  });

  it('keeps polarity both ways', () => {
    const inverting = pathOf(['single-ended-bipolar']);
    const plan = planPath(inverting, rateHz, { onTrial: without('s1', 'exponential') });
    expect(plan.trialPolarity).toBe(1);
    // What inverts does so both ways: the two differ by their distortion, not by a sign.
    const [whole, linear] = [heard(plan), heard(plan, false)];
    const product = whole.reduce((sum, sample, k) => sum + sample * linear[k]!, 0);
    expect(product).toBeGreaterThan(0.9 * whole.reduce((sum, sample) => sum + sample * sample, 0));
  });
});

describe('mechanisms of a path', () => {
  it('those of the stages in circuit, and the loading of what stands before', () => {
    const path = pathOf(['single-ended-bipolar', { stage: 'single-ended-valve', inCircuit: false }, 'push-pull', 'harmonic-shaping', 'equaliser']);
    expect(pathMechanisms(path).map(({ key, mechanism }) => `${key} ${mechanism.id}`)).toEqual([
      's1 exponential', 's1 early-effect', 's1 saturation', 's1 bias-shift',
      's3 crossover', 's3 early-effect', 's3 drive-limit', 's3 saturation', 's3 loading', 's4 second-order', 's4 third-order', 's4 ceiling',
    ]);
  });
});
