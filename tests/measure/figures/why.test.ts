import { describe, expect, it } from 'vitest';
import { factsOf, figureViewById, subjectOfSetting, type FigureSubject } from '../../../dsp/measure/figures/index.ts';
import type { WhyPoints } from '../../../dsp/measure/figures/why/why-found.ts';
import { whyItems } from '../../../dsp/measure/figures/why/items.ts';
import { defaultValues, stages } from '../../../dsp/stages/index.ts';
import { surroundings } from '../../../dsp/path/index.ts';
import { pathOf } from '../../path/support.ts';

const view = figureViewById('why')!;

function measured(subject: FigureSubject, levelDbu: number): WhyPoints {
  const values = { ...Object.fromEntries(view.parameters.map(({ id, default: standard }) => [id, standard])), levelDbu, highestOrder: 3 };
  const steps = view.measure(subject, values, view.split(factsOf(subject), values, 1)[0]);
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value as WhyPoints;
  }
}

const subjectOf = (...path: Parameters<typeof pathOf>): FigureSubject => subjectOfSetting({ path: pathOf(...path), joints: null, baseRateHz: 48_000, scope: { kind: 'path' }, programme: null });

describe('why, of every stage that bends', () => {
  const bending = stages.filter((stage) => stage.mechanisms(defaultValues(stage)).length > 0);

  it.each(bending.map(({ id }) => [id]))('%s: each mechanism can be taken away at line level and where most clip, and the stage is linear without all of them', (id) => {
    const subject = subjectOf([id]);
    const items = whyItems(factsOf(subject));
    for (const levelDbu of [4, 20]) {
      const { found, whole } = measured(subject, levelDbu);
      expect(found.map(({ index, refusal }) => [items[index]!.label, refusal])).toEqual(items.map(({ label }) => [label, null]));
      for (const { index, without } of found) {
        expect([...without!.re, ...without!.im].every(Number.isFinite), items[index]!.label).toBe(true);
        if (items[index]!.kind !== 'stage') continue;
        // −150 dB: rounding of some volts.
        without!.re.forEach((re, k) => expect(Math.hypot(re, without!.im[k]!)).toBeLessThan(3e-8));
      }
      expect(whole.re.every(Number.isFinite)).toBe(true);
    }
  });

  it('between surroundings the first stage loads the source', () => {
    const subject = subjectOf(['single-ended-bipolar', 'push-pull'], { surroundings: defaultValues(surroundings) });
    const items = whyItems(factsOf(subject));
    expect(items.filter(({ label }) => label.startsWith('loading')).map(({ label, stageNumber }) => [label, stageNumber])).toEqual([['loading of the source', 1], ['loading of the stage before', 2]]);
    expect(measured(subject, 4).found.map(({ refusal }) => refusal)).toEqual(items.map(() => null));
  });
});
