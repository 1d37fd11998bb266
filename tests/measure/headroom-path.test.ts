import { describe, expect, it } from 'vitest';
import { measurePath, pathHeadroom, type ClipMemory, type HeadroomOptions, type PathHeadroom } from '../../dsp/measure/index.ts';
import { planPath, type PathSetting } from '../../dsp/path/index.ts';
import { dbuToPeakVolts } from '../../dsp/stages/index.ts';
import { pathOf, rateHz } from '../path/support.ts';

function headroomOf(path: PathSetting, options: HeadroomOptions = {}): PathHeadroom {
  const steps = pathHeadroom(path, planPath(path, rateHz, { grade: 'measuring' }), options);
  for (;;) {
    const step = steps.next();
    if (!step.done) continue;
    if (step.value.oscillates) throw new Error('oscillates');
    return step.value;
  }
}

function expectWithin(actual: number, expected: number, limit: number): void {
  expect(!(Math.abs(actual - expected) <= limit) ? `got ${actual}, expected ${expected} ± ${limit}` : 'within').toBe('within');
}

describe('headroom along a path', () => {
  const path = pathOf(['single-ended-bipolar', 'harmonic-shaping', 'push-pull']);
  const found = headroomOf(path);

  it('states each joint in dBu and dBFS', () => {
    expect([found.sourceDbu, found.sourceDbfs]).toEqual([4, -20]);
    for (const { levelDbu, levelDbfs, clipDbu, clipDbfs } of found.stages) {
      expectWithin(levelDbu, 4, 0.2);
      expectWithin(levelDbfs, levelDbu - 24, 1e-12);
      if (clipDbu !== null) expectWithin(clipDbfs!, clipDbu - 24, 1e-12);
    }
    expectWithin(found.fullScaleMarginDb, 20, 0.2);
  });

  it('the clip point is where 1 kHz distortion reaches 1 %, so many decibels above the level', () => {
    for (const stage of ['single-ended-bipolar', 'push-pull']) {
      const alone = pathOf([stage]);
      const [{ clipDbu, clipMarginDb, levelDbu }] = headroomOf(alone).stages as [PathHeadroom['stages'][number]];
      expectWithin(clipMarginDb!, clipDbu! - levelDbu, 1e-12);
      // Driven so much harder, the output has 1 %: within the 0.1 dB of the search, where a pair at its limit goes from 0.5 to 2 % in less.
      const drivenBy = (dB: number): number => {
        const measured = measurePath(planPath(alone, rateHz, { grade: 'measuring' }), { frequencyHz: 1000, peakVolts: dbuToPeakVolts(4 + dB), scope: { kind: 'path' } });
        if (measured.oscillates) throw new Error('oscillates');
        return measured.thd.f;
      };
      expect(drivenBy(clipMarginDb! - 0.5)).toBeLessThan(0.01);
      expect(drivenBy(clipMarginDb! + 1.5)).toBeGreaterThan(0.01);
    }
  });

  it('lets each of joined stages swing between its own supplies', () => {
    const joined = pathOf(['single-ended-bipolar', 'push-pull']);
    const path = { ...joined, stages: joined.stages.map((stage, k) => ({ ...stage, joined: k === 1 })) };
    const { rails } = headroomOf(path).stages[0]!;
    // The collector at 12.9 V has 24 V over it and nothing to do with the 18 V of the pair.
    expect(rails.map(({ rail, node }) => `${rail}: ${node}`)).toEqual(['1 VCC: 1 collector', '0 V: 1 collector', '2 VCC: 2 base-up', '2 VEE: 2 base-down']);
  });

  it('names the stage that runs out first: it turns with the drive', () => {
    expect(found.first!.key).toBe('s1');
    const pushed = headroomOf(pathOf([{ stage: 'single-ended-bipolar', values: { makeUpDb: -10 } }, 'harmonic-shaping', { stage: 'push-pull', values: { driveDb: 24 } }]));
    expect(pushed.first!.key).toBe('s3');
    expectWithin(pushed.first!.marginDb, pushed.stages[2]!.clipMarginDb!, 1e-12);
  });

  it('gives the room to each rail at the node that gets there first', () => {
    const { rails } = found.stages[0]!;
    expect(rails.map(({ rail, node }) => [rail, node])).toEqual([['VCC', 'collector'], ['0 V', 'collector']]);
    // By hand: the collector swings with the output (COUT is a short at 1 kHz) before make-up, from its resting voltage to 24 V.
    const { values } = path.stages[0]!;
    const program = planPath(path, rateHz).stages[0]!.wired.program;
    const rest = program.kind === 'circuit' ? program.circuit.operatingPoint.nodeVolts['collector']! : NaN;
    const swing = dbuToPeakVolts(found.stages[0]!.levelDbu - (values['makeUpDb'] as number));
    expectWithin(rails[0]!.marginDb, 20 * Math.log10((24 - rest) / swing), 0.1);
    expectWithin(rails[1]!.marginDb, 20 * Math.log10(rest / swing), 0.1);
    expect(found.stages[1]!.rails).toEqual([]);
    expect(found.stages[2]!.rails.map(({ rail }) => rail)).toEqual(['VCC', 'VEE']);
  });

  it('follows the level of the source, decibel by decibel', () => {
    const louder = headroomOf(path, { sourceDbu: 10 });
    found.stages.forEach(({ clipMarginDb, rails }, k) => {
      if (clipMarginDb !== null) expectWithin(louder.stages[k]!.clipMarginDb!, clipMarginDb - 6, 0.2);
      rails.forEach(({ marginDb }, r) => expectWithin(louder.stages[k]!.rails[r]!.marginDb, marginDb - 6, 0.2));
    });
  });

  it('remembers clip levels by program', () => {
    const memory: ClipMemory = new Map();
    headroomOf(path, { memory });
    expect([...memory.values()].map((clip) => typeof clip)).toEqual(['number', 'number']);
    for (const key of memory.keys()) memory.set(key, 99);
    expect(headroomOf(path, { memory }).stages.map(({ clipDbu }) => clipDbu)).toEqual([99, null, 99]);
  });

  it('lets go after every stage', () => {
    const steps = pathHeadroom(path, planPath(path, rateHz));
    let yields = 0;
    while (!steps.next().done) yields += 1;
    expect(yields).toBeGreaterThanOrEqual(6);
  });
});
