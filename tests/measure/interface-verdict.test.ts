/** What a stage does, apart from what its place does to it. */
import { describe, expect, it } from 'vitest';
import { interfaceVerdict, type InterfaceRequest, type InterfaceVerdict } from '../../dsp/measure/index.ts';
import { surroundings, type PathSetting } from '../../dsp/path/index.ts';
import { defaultValues, type StageValues } from '../../dsp/stages/index.ts';
import { pathOf, rateHz, toDb } from '../path/support.ts';

function verdictOf(path: PathSetting, of: InterfaceRequest['of'] = { kind: 'path' }): InterfaceVerdict {
  const steps = interfaceVerdict({ path, baseRateHz: rateHz, of });
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

const within = (path: PathSetting, values: StageValues): PathSetting => ({ ...path, surroundings: { ...defaultValues(surroundings), ...values } });

describe('the interface of a whole path', () => {
  it('does nothing between an ideal source and no load', () => {
    const { response, harmonics, remarks } = verdictOf(pathOf(['push-pull']));
    response.forEach((figure) => expect(Math.abs(figure.interface)).toBeLessThan(1e-9));
    harmonics!.forEach(({ itself, inPlace }) => expect(inPlace).toBeCloseTo(itself, 9));
    expect(remarks[0]!.words).toBe('What is heard is the path itself: its interface changes level and response by less than 0.1 dB.');
  });

  it('adds up: in place is without, itself and interface', () => {
    const { response } = verdictOf(within(pathOf(['single-ended-bipolar']), { sourceOhms: 600, loadOhms: 600 }));
    response.forEach((figure) => expect(figure.without + figure.itself + figure.interface).toBeCloseTo(figure.inPlace, 12));
  });

  it('is what a stage gains whose input draws less than the load it hides: 600 Ω source and load before a path that takes no current', () => {
    const { response, remarks } = verdictOf(within(pathOf(['harmonic-shaping']), { sourceOhms: 600, loadOhms: 600, tieMetres: 0.1, returnMetres: 0.1 }));
    // Without it the load halves the level; in its place the source is not loaded at all.
    const [, middle] = response;
    expect(middle!.without).toBeCloseTo(toDb(600 / (1200.1)), 3);
    expect(middle!.itself).toBe(0);
    expect(middle!.interface).toBeCloseTo(toDb(1200.1 / 600), 3);
    expect(remarks[0]!.words).toMatch(/^Not the path but its interface makes \+6\.02 dB of level: /);
  });

  it('tells a long line’s treble from the stage’s own', () => {
    const values = { sourceOhms: 600, tieMetres: 300, loadOhms: 1e4, returnMetres: 0.1 };
    const { response, readings, remarks } = verdictOf(within(pathOf([{ stage: 'push-pull', values: { driverOhms: 1000 } }]), values));
    const [, middle, high] = response;
    // 600 Ω and 30 nF roll off whether the path is there or not: that is no doing of the interface.
    expect(high!.without - middle!.without).toBeLessThan(-7);
    expect(Math.abs(high!.itself - middle!.itself)).toBeLessThan(0.01);
    expect(high!.inPlace - middle!.inPlace).toBeLessThan(-7);
    expect(readings.map(({ label }) => label).slice(0, 6)).toEqual(['itself at 20 Hz', 'interface at 20 Hz', 'itself at 1 kHz', 'interface at 1 kHz', 'itself at 20 kHz', 'interface at 20 kHz']);
    expect(remarks[0]!.words).toContain('dB at 1 kHz');
  });

  it('finds the crossover that a heavier load makes', () => {
    const { harmonics, remarks } = verdictOf(within(pathOf([{ stage: 'push-pull', values: { loadOhms: 1e4 } }]), { loadOhms: 100, tieMetres: 0.1, returnMetres: 0.1 }));
    const third = harmonics!.find(({ order }) => order === 3)!;
    expect(third.inPlace - third.itself).toBeGreaterThan(20);
    expect(remarks[0]!.words).toMatch(/dB of H3/);
  });
});

describe('the interface of one stage', () => {
  it('is what its neighbours see of it', () => {
    const path = pathOf(['single-ended-bipolar', { stage: 'push-pull', values: { driverOhms: 50 } }, 'single-ended-field-effect']);
    const { response } = verdictOf(path, { kind: 'stage', key: 's2' });
    // The collector drives the pair's high input instead of the next pad: level is won.
    expect(response[1]!.interface).toBeGreaterThan(0.5);
    expect(() => verdictOf(path, { kind: 'stage', key: 's9' })).toThrow("interface: expected one of the path's stages (s1, s2, s3), got s9");
  });

  it('is judged as if it were in, also where it is out', () => {
    const path = pathOf(['push-pull', 'single-ended-bipolar']);
    const out: PathSetting = { ...path, stages: path.stages.map((stage, k) => (k === 0 ? { ...stage, inCircuit: false } : stage)) };
    expect(verdictOf(out, { kind: 'stage', key: 's1' }).response).toEqual(verdictOf(path, { kind: 'stage', key: 's1' }).response);
  });
});
