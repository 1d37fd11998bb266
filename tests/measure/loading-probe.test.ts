/** Whether neighbours need one circuit: the probe, against what is known of the stages. */
import { describe, expect, it } from 'vitest';
import { jointToleranceDb, probeJoint, probeJoints, type JointMemory, type JointVerdict } from '../../dsp/measure/index.ts';
import { planPair, surroundings, type PathSetting } from '../../dsp/path/index.ts';
import { defaultValues } from '../../dsp/stages/index.ts';
import { pathOf, type StageWish } from '../path/support.ts';

function finished<T>(steps: Generator<unknown, T>): T {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

const verdictOf = (wishes: readonly (string | StageWish)[], index = 1): JointVerdict => finished(probeJoint(pathOf(wishes), index))!;

describe('the loading probe', () => {
  it('leaves linear neighbours apart, whatever level control and reversal stand between', () => {
    for (const wishes of [
      ['line', 'line'],
      [{ stage: 'line', values: { makeUpDb: -9 }, reversed: true }, { stage: 'line', values: { driveDb: 5 } }],
    ]) {
      const verdict = verdictOf(wishes);
      expect(verdict.joined).toBe(false);
      // One fiftieth of the limit: what is left is the solver's.
      expect(verdict.differenceDb, JSON.stringify(wishes)).toBeLessThan(1e-4);
    }
  });

  it('joins a pair that loads its driver otherwise once a side is off', () => {
    const verdict = verdictOf(['single-ended-bipolar', 'push-pull']);
    expect(verdict.joined).toBe(true);
    expect(verdict.differenceDb).toBeGreaterThan(jointToleranceDb);
    // Near class B the harm is greater still.
    expect(verdictOf(['single-ended-bipolar', { stage: 'push-pull', values: { quiescentAmperes: 1e-4 } }]).differenceDb).toBeGreaterThan(verdict.differenceDb);
  });

  it('joins a pair to the winding it drives, for its own impedance moves with the signal', () => {
    expect(verdictOf(['push-pull', 'transformer-output']).joined).toBe(true);
  });

  it('judges each joint of two circuits, and no other', () => {
    const path = pathOf(['line', 'line', 'harmonic-shaping', 'line', { stage: 'push-pull', inCircuit: false }, 'line']);
    const verdicts = finished(probeJoints(path));
    expect(verdicts.map((verdict) => verdict?.joined ?? null)).toEqual([null, false, null, null, null, false]);
    expect(finished(probeJoint(path, 2))).toBeNull();
  });

  it('is a function of the setting: twice the same, and remembered', () => {
    const memory: JointMemory = new Map();
    const path = pathOf(['push-pull', 'line']);
    const first = finished(probeJoints(path, memory));
    expect(finished(probeJoints(path))).toEqual(first);
    expect(memory.size).toBe(1);
    let steps = 0;
    for (const again = probeJoints(path, memory); !again.next().done;) steps += 1;
    expect(steps).toBe(0);
  });

  it('sees what drives the pair and what loads it', () => {
    const alone = pathOf(['push-pull', 'line']);
    const within: PathSetting = { ...alone, surroundings: { ...defaultValues(surroundings), sourceOhms: 2000, loadOhms: 600 } };
    const [plain, surrounded] = [planPair(alone, 1, 48_000)!, planPair(within, 1, 48_000)!];
    expect(plain.identity).not.toBe(surrounded.identity);
    expect([plain.apart[0].source, surrounded.apart[0].source !== null, plain.joined.loaded, surrounded.joined.loaded]).toEqual([null, true, false, true]);
  });

  it('lets go between steady states', () => {
    let steps = 0;
    for (const probe = probeJoint(pathOf(['push-pull', 'line']), 1); !probe.next().done;) steps += 1;
    expect(steps).toBeGreaterThanOrEqual(9);
  });
});
