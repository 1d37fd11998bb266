/** What stands round a path: its circuits against formulas, what "out of circuit" means with it, hum. */
import { describe, expect, it } from 'vitest';
import { directResponse, measurePath, pathResponse, probePeakVolts } from '../../dsp/measure/index.ts';
import { surroundings, surroundingsKeys, type PathSetting } from '../../dsp/path/index.ts';
import { defaultValues, dbuToPeakVolts, stageById, type StageValues } from '../../dsp/stages/index.ts';
import { compiled, recordingShell } from '../support/compiled-code.ts';
import { componentPeak, firstDifference, nominalPeak, pathOf, planOf, plucked, rateHz, renderAll, renderInPieces, sine, toDb } from './support.ts';

const round = (values: StageValues = {}): StageValues => ({ ...defaultValues(surroundings), ...values });
const within = (path: PathSetting, values: StageValues = {}): PathSetting => ({ ...path, surroundings: round(values) });

describe('the surroundings without the path', () => {
  const frequencies = [20, 1000, 20_000, 100_000];

  it.each([{}, { sourceOhms: 600, loadOhms: 600, tieMetres: 100, returnMetres: 200 }, { sourceOhms: 2000, patchOhms: 10 }])('divide and roll off as the formula says: %o', (values) => {
    const v = round(values) as Record<string, number>;
    const path = within(pathOf([]), values);
    const found = directResponse(path, planOf(path), frequencies, { exact: true });
    found.forEach(({ hz, db }) => {
      // Source, shunt capacitance, patch, shunt capacitance and load: the divider in complex numbers, by hand.
      const w = 2 * Math.PI * hz;
      const [ct, cr] = [v['tieMetres']! * v['tieFaradsPerMetre']!, v['returnMetres']! * v['tieFaradsPerMetre']!];
      const far = { re: 1 / v['loadOhms']!, im: w * cr };
      const size = far.re ** 2 + far.im ** 2;
      const behindPatch = { re: far.re / size + v['patchOhms']!, im: -far.im / size };
      const size2 = behindPatch.re ** 2 + behindPatch.im ** 2;
      const near = { re: behindPatch.re / size2, im: -behindPatch.im / size2 + w * ct };
      const overSource = 1 / Math.hypot(1 + v['sourceOhms']! * near.re, v['sourceOhms']! * near.im);
      const overPatch = Math.hypot(far.re / size, far.im / size) / Math.hypot(behindPatch.re, behindPatch.im);
      expect(db).toBeCloseTo(toDb(overSource * overPatch), 9);
    });
  });

  it('are as discretised within 0.05 dB up to 20 kHz, the limit of the listening grade at 10 kHz', () => {
    const path = within(pathOf([]), { sourceOhms: 600, loadOhms: 600, tieMetres: 100, returnMetres: 200 });
    const [exact, played] = [true, false].map((way) => directResponse(path, planOf(path), [20, 1000, 20_000], { exact: way })) as [ReturnType<typeof directResponse>, ReturnType<typeof directResponse>];
    exact.forEach(({ db }, k) => expect(Math.abs(db - played[k]!.db)).toBeLessThan(0.05));
  });

  it('are what is heard when the whole path is out of circuit, as they are measured', () => {
    const path = within(pathOf(['harmonic-shaping']), { sourceOhms: 600, loadOhms: 600, returnMetres: 300 });
    const plan = planOf(path);
    for (const hz of [1000, 10_000]) {
      const output = renderInPieces(plan, sine(hz, nominalPeak, 9600), [700], { trialIn: false });
      const [expected] = directResponse(path, plan, [hz], { exact: false });
      const cycles = (hz * 4800) / rateHz;
      // 0.003 dB: the ladder's ripple.
      expect(Math.abs(toDb(componentPeak(output.slice(4800), cycles) / nominalPeak) - expected!.db)).toBeLessThan(0.003);
    }
  });

  it('are not heard while one stage is on trial: its place is wired through and the rest stays', () => {
    const path = within(pathOf(['push-pull', 'single-ended-bipolar']));
    const plan = planOf(path, { kind: 'stage', key: 's1' });
    expect(plan.direct).toBeNull();
    const input = plucked(2400);
    const without: PathSetting = { ...path, stages: path.stages.map((stage, k) => ({ ...stage, inCircuit: k > 0 })) };
    expect(firstDifference(renderAll(plan, [input], { trialIn: false })[0]!, renderAll(planOf(without), [input])[0]!)).toBe(-1);
  });
});

describe('a path in its surroundings', () => {
  it('begins with the source and ends with the load, which is in the last circuit', () => {
    const { stages } = planOf(within(pathOf(['single-ended-bipolar', 'push-pull'])));
    expect(stages.map(({ key, loaded }) => [key, loaded])).toEqual([[surroundingsKeys.source, false], ['s1', false], ['s2', true]]);
    expect(planOf(within(pathOf([]))).stages.map(({ key }) => key)).toEqual([surroundingsKeys.source, surroundingsKeys.load]);
  });

  it('has no load where an ideal source ends it', () => {
    const { stages } = planOf(within(pathOf(['harmonic-shaping'])));
    expect(stages.map(({ key, loaded }) => [key, loaded])).toEqual([[surroundingsKeys.source, false], ['s1', false]]);
  });

  it('is solved with its load: the pair bends as it does with a load of its own that draws as much', () => {
    const harmonics = (path: PathSetting): number[] => {
      const measured = measurePath(planOf(path), { frequencyHz: 1000, peakVolts: probePeakVolts(12), scope: { kind: 'path' }, orders: [3, 5] });
      if (measured.oscillates) throw new Error('oscillates');
      return [measured.fundamentalDbu, ...measured.harmonics.map(({ db }) => db)];
    };
    const pair = (loadOhms: number) => pathOf([{ stage: 'push-pull', values: { loadOhms, makeUpDb: 0 } }]);
    const idealSource = { sourceOhms: 0.1, tieMetres: 0.1, returnMetres: 0.1 };
    const together = harmonics(within(pair(1200), { ...idealSource, loadOhms: 1200 }));
    const own = harmonics(pair(600));
    // 0.02 dB: 0.1 Ω of source and 10 pF of cable.
    together.forEach((db, k) => expect(Math.abs(db - own[k]!), `${db} against ${own[k]!}`).toBeLessThan(0.02));
    expect(Math.abs(harmonics(pair(1200))[1]! - own[1]!)).toBeGreaterThan(1);
  });

  it('loses what the source and its input divide', () => {
    const alone = pathOf(['single-ended-bipolar']);
    const path = within(alone, { sourceOhms: 600, loadOhms: 1e6, tieMetres: 1, returnMetres: 1 });
    const [before] = pathResponse(alone, planOf(alone), [1000], { exact: true });
    const [after] = pathResponse(path, planOf(path), [1000], { exact: true });
    const inputOhms = stageById('single-ended-bipolar').report(alone.stages[0]!.values, planOf(alone).stages[0]!.wired.program).readings.find(({ label }) => label === 'input impedance')!.value;
    // 0.03 dB: the load of 1 MΩ and the phase of the input impedance.
    expect(Math.abs(after!.db - before!.db - toDb(inputOhms / (inputOhms + 600)))).toBeLessThan(0.03);
  });

  it('is measured with its levels at every joint', () => {
    const path = within(pathOf(['push-pull']));
    const measured = measurePath(planOf(path), { frequencyHz: 1000, peakVolts: probePeakVolts(4), scope: { kind: 'path' } });
    if (measured.oscillates) throw new Error('oscillates');
    expect(measured.joints.map(({ key }) => key)).toEqual([surroundingsKeys.source, 's1']);
    expect(Math.abs(measured.joints[1]!.levelDbu - measured.fundamentalDbu)).toBeLessThan(1e-9);
  });

  it('plays the same bits in any pieces, mono or stereo, compiled or not, in and out', () => {
    const plan = planOf(within(pathOf(['push-pull']), { humDbu: 0, balance: 'unbalanced' }));
    const input = plucked(2400);
    for (const trialIn of [true, false]) {
      const whole = renderInPieces(plan, input, [2400], { trialIn });
      expect(firstDifference(renderInPieces(plan, input, [1, 127, 333, 32], { trialIn }), whole)).toBe(-1);
      const record = recordingShell();
      expect(firstDifference(compiled(() => renderAll(plan, [input, input], { trialIn })[1]!, record.shell), whole)).toBe(-1);
      expect(record.instances).toBeGreaterThan(0);
    }
  });

  it('fades when a value round it turns', () => {
    const wide = planOf(within(pathOf(['push-pull'])));
    const narrow = planOf(within(pathOf(['push-pull']), { loadOhms: 600 }));
    const tone = sine(200, nominalPeak, 7200);
    const turned = renderInPieces(wide, tone, [480], { events: [{ frame: 2400, plan: narrow }] });
    // Up to the change less the latency, by which the output is ahead.
    expect(firstDifference(turned.slice(0, 2300), renderInPieces(wide, tone, [480]).slice(0, 2300))).toBe(-1);
    const after = componentPeak(turned.slice(4800), 10);
    const settled = componentPeak(renderInPieces(narrow, tone, [480]).slice(4800), 10);
    expect(Math.abs(toDb(after / settled))).toBeLessThan(0.001);
    const steps = turned.map((sample, i) => Math.abs(sample - (turned[i - 1] ?? 0)));
    expect(Math.max(...steps)).toBeLessThan(1.05 * 2 * Math.PI * (200 / rateHz) * nominalPeak);
  });
});

describe('hum', () => {
  const silence = new Float64Array(9600);
  const fullScale = dbuToPeakVolts(24);
  /** Level of a mains harmonic in what comes out of a path that is silent, dBu. */
  function humDbu(values: StageValues, hz: number, trialIn = true): number {
    const plan = planOf(within(pathOf(['harmonic-shaping']), { humDbu: 0, sourceOhms: 0.1, ...values }));
    const output = renderInPieces(plan, silence, [1024], { trialIn });
    return toDb((componentPeak(output.slice(4800), (hz * 4800) / rateHz) * fullScale) / dbuToPeakVolts(0));
  }

  it('is none at −120 dBu', () => {
    expect(planOf(within(pathOf([]))).hum).toBeNull();
    expect(planOf(within(pathOf([]), { humDbu: -119 })).hum).not.toBeNull();
  });

  it('comes whole into an unbalanced input, with odd harmonics as 1/k', () => {
    // 0.01 dB: tie lines and shaping are unity there.
    for (const [hz, db] of [[50, 0], [150, -9.542], [100, -15.563]] as const) expect(Math.abs(humDbu({ balance: 'unbalanced' }, hz) - db)).toBeLessThan(0.01);
    expect(Math.abs(humDbu({ balance: 'unbalanced', humHertz: '60' }, 60))).toBeLessThan(0.01);
  });

  it('is kept out by an electronic input as its resistors allow, at every frequency alike', () => {
    // 10 Ω over 10 kΩ and a mismatch of 0.001 make 0.002: −53.98 dB.
    for (const [hz, own] of [[50, 0], [150, -9.542]] as const) expect(Math.abs(humDbu({ balance: 'electronic' }, hz) - own + 53.979)).toBeLessThan(0.01);
    expect(Math.abs(humDbu({ balance: 'electronic', imbalanceOhms: 0.01 }, 50) + 60)).toBeLessThan(0.02);
  });

  it('is kept out by a transformer, 6 dB less with each octave', () => {
    // 2π · 50 Hz · 5 nF · 100 Ω = 1.571e-4: −76.08 dB.
    const values = { balance: 'transformer', windingFarads: 5e-9, imbalanceOhms: 100 };
    expect(Math.abs(humDbu(values, 50) + 76.08)).toBeLessThan(0.02);
    expect(Math.abs(humDbu(values, 150) + 76.08)).toBeLessThan(0.02);
    expect(Math.abs(humDbu(values, 100) + 76.08 + 9.542)).toBeLessThan(0.02);
  });

  it('is the same in circuit and out', () => {
    // 0.01 dB: what the shaping stage adds to a tone of 0 dBu.
    expect(Math.abs(humDbu({ balance: 'unbalanced' }, 50, false) - humDbu({ balance: 'unbalanced' }, 50))).toBeLessThan(0.01);
  });

  it('goes on where it was when the path is changed', () => {
    const values = { humDbu: 0, balance: 'unbalanced' };
    const [first, second] = [planOf(within(pathOf(['harmonic-shaping']), values)), planOf(within(pathOf(['harmonic-shaping', 'harmonic-shaping']), values))];
    const changed = renderInPieces(first, silence, [512], { events: [{ frame: 3001, plan: second }] });
    const never = renderInPieces(second, silence, [512]);
    // 80 dB under line level: what is left of the shaping stages' own start.
    const latest = changed.slice(7200).map((sample, i) => Math.abs(sample - never[7200 + i]!));
    expect(Math.max(...latest)).toBeLessThan(1e-4 * nominalPeak);
  });
});
