/** An equaliser in a path that is measured: its response, as analogue and as it runs, and no harmonics of its own. */
import { describe, expect, it } from 'vitest';
import { measurePath, pathResponse, probePeakVolts } from '../../dsp/measure/index.ts';
import { planPath } from '../../dsp/path/index.ts';
import type { PathSetting } from '../../dsp/path/index.ts';
import { resolveValues, stageById } from '../../dsp/stages/index.ts';
import { pathOf } from '../path/support.ts';

const bell = { section1Kind: 'bell', section1Hz: 1000, section1Db: 12, section1Quality: 2, section2Kind: 'off', makeUpDb: -3 };

function equalised(before: readonly string[] = [], reversed = false): PathSetting {
  const path = pathOf([...before, 'equaliser']);
  const last = path.stages.length - 1;
  return { ...path, stages: path.stages.map((stage, k) => (k === last ? { ...stage, reversed, values: resolveValues(stageById('equaliser'), bell) } : stage)) };
}

describe('a path with an equaliser', () => {
  const frequencies = [50, 1000, 1500, 15_000];
  // By hand from H = (s² + s A/Q + 1)/(s² + s/(A Q) + 1), A² = 10^(12/20), with 3 dB less behind it.
  const expected = frequencies.map((hz) => {
    const [x, root] = [hz / 1000, 10 ** (12 / 40)];
    return 20 * Math.log10(Math.hypot(1 - x * x, (x * root) / 2) / Math.hypot(1 - x * x, x / (root * 2))) - 3;
  });

  it('responds as its prototype, exactly and as it runs', () => {
    const path = equalised();
    const plan = planPath(path, 48_000);
    pathResponse(path, plan, frequencies, { exact: true }).forEach(({ db }, k) => expect(Math.abs(db - expected[k]!)).toBeLessThan(1e-9));
    pathResponse(path, plan, frequencies, { exact: false }).forEach(({ db }, k) => expect(Math.abs(db - expected[k]!)).toBeLessThan(1e-3));
    const turned = equalised([], true);
    const [upright, inverted] = [path, turned].map((each) => pathResponse(each, planPath(each, 48_000), [1000], { exact: false })[0]!.phaseDegrees);
    expect(Math.abs(Math.abs(upright! - inverted!) - 180)).toBeLessThan(1e-6);
  });

  it('passes on the harmonics of what is before it by its curve, and adds none', () => {
    const probe = { frequencyHz: 500, peakVolts: probePeakVolts(4), scope: { kind: 'path' } } as const;
    const before = measurePath(planPath(pathOf(['harmonic-shaping']), 48_000), probe);
    const after = measurePath(planPath(equalised(['harmonic-shaping']), 48_000), probe);
    if (before.oscillates || after.oscillates) throw new Error('expected a steady state');
    const gain = (hz: number): number => pathResponse(equalised(), planPath(equalised(), 48_000), [hz], { exact: false })[0]!.db;
    for (const order of [2, 3]) {
      const [clean, shaped] = [before, after].map(({ harmonics }) => harmonics.find((harmonic) => harmonic.order === order)!.db) as [number, number];
      expect(Math.abs(shaped - clean - gain(500 * order) + gain(500))).toBeLessThan(1e-6);
    }
    const alone = measurePath(planPath(equalised(), 48_000), probe);
    if (alone.oscillates) throw new Error('expected a steady state');
    for (const { db } of alone.harmonics) expect(db).toBeLessThan(-150);
  });
});
