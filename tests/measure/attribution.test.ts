import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { attribute, cancellations, decibelsOf, degreesOf, measurePath, probePeakVolts, type HarmonicVectors } from '../../dsp/measure/index.ts';
import { factsOf, figureViewById, subjectOfDocument, subjectOfSetting, type FigureSubject } from '../../dsp/measure/figures/index.ts';
import { whyItems } from '../../dsp/measure/figures/why/items.ts';
import { foundOf, type WhyFound, type WhyPoints } from '../../dsp/measure/figures/why/why-found.ts';
import { openingSetting } from '../../dsp/setting/index.ts';
import { pathOf } from '../path/support.ts';
import { capacitor, input, parsedOf, resistor, source } from '../support/circuits.ts';

const view = figureViewById('why')!;
const defaults = Object.fromEntries(view.parameters.map((parameter) => [parameter.id, parameter.default]));

function pointsOf(subject: FigureSubject, change: Record<string, number | string>, workers = 1): WhyPoints[] {
  const values = { ...defaults, ...change };
  return view.split(factsOf(subject), values, workers).map((part) => {
    const steps = view.measure(subject, values, part);
    for (;;) {
      const step = steps.next();
      if (step.done) return step.value as WhyPoints;
    }
  });
}

const foundIn = (subject: FigureSubject, change: Record<string, number | string>): WhyFound => foundOf(whyItems(factsOf(subject)), pointsOf(subject, change))!;

const contributionOf = (found: WhyFound, label: string): HarmonicVectors => {
  const item = [...found.mechanisms, ...found.stages].find((each) => each.item.label === label);
  if (item === undefined) throw new Error(`expected "${label}", got ${found.mechanisms.map((each) => each.item.label).join(', ')}`);
  return item.contribution;
};
const db = ({ re, im }: HarmonicVectors, k: number): number => decibelsOf(re[k]!, im[k]!);

describe('contributions as vectors', () => {
  const vectors = (orders: number): fc.Arbitrary<HarmonicVectors> => {
    const parts = fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: orders, maxLength: orders });
    return fc.record({ re: parts, im: parts });
  };

  it('sum and remainder are the whole, whatever was measured', () => {
    fc.assert(fc.property(vectors(9), fc.array(vectors(9), { maxLength: 12 }), (whole, without) => {
      const { sum, remainder, contributions } = attribute(whole, without);
      expect(contributions).toHaveLength(without.length);
      for (let k = 0; k < 9; k += 1) {
        for (const part of ['re', 'im'] as const) {
          const error = Math.abs(sum[part][k]! + remainder[part][k]! - whole[part][k]!);
          if (!(error <= 1e-12)) throw new Error(`order ${k}: ${error}`);
          const added = contributions.reduce((total, contribution) => total + contribution[part][k]!, 0);
          if (!(Math.abs(added - sum[part][k]!) <= 1e-12)) throw new Error(`order ${k}: the sum is not of the contributions`);
        }
      }
    }), { seed: 20261126 });
  });

  it('finds what points against each other, how much it saves, and at which angle', () => {
    // 10 against −8 leaves 2: 20 log 5 = 13.98 dB saved. 3 and 4j stand square and cancel nothing.
    const found = cancellations([{ re: [10, 3], im: [0, 0] }, { re: [-8, 0], im: [0, 4] }], 1, -100);
    expect(found).toHaveLength(1);
    expect(found[0]).toMatchObject({ order: 0, first: 0, second: 1 });
    expect(found[0]!.savedDb).toBeCloseTo(13.979, 3);
    expect(found[0]!.angleDegrees).toBeCloseTo(180, 9);
    // 1 and e^(j 120°) add to a vector as long as either: they save nothing.
    expect(cancellations([{ re: [1], im: [0] }, { re: [-0.5], im: [Math.sqrt(0.75)] }], 0.01, -100)).toEqual([]);
  });
});

describe('two mechanisms that know nothing of each other', () => {
  const [volts, load] = [0.12, 100];
  const pairs = [{ name: 'G1', most: 2e-3, scale: 0.1 }, { name: 'G2', most: -4e-4, scale: 0.06 }] as const;
  const document = parsedOf([
    input('in'), resistor('R1', 'o', 'ground', load),
    { kind: 'tanh-transconductor', name: 'G1', out: ['o', 'ground'], in: ['in', 'ground'], maxAmperes: 2e-3, scaleVolts: 0.1 },
    // Turned round: its third harmonic stands against the other's.
    { kind: 'tanh-transconductor', name: 'G2', out: ['ground', 'o'], in: ['in', 'ground'], maxAmperes: 4e-4, scaleVolts: 0.06 },
  ], ['o', 'ground']);

  /** Cosine coefficients of Σ Imax tanh(v/Vs), or of its tangent where `linear` names it, with the engine's own tanh. */
  function cosines(linear: string | null): number[] {
    const count = 4096;
    return [1, 2, 3, 4, 5, 6, 7].map((order) => {
      let sum = 0;
      for (let k = 0; k < count; k += 1) {
        const angle = (2 * Math.PI * k) / count;
        const v = volts * Math.cos(angle);
        for (const { name, most, scale } of pairs) sum += most * (name === linear ? v / scale : Math.tanh(v / scale)) * Math.cos(order * angle);
      }
      return sum;
    });
  }
  const ratios = (linear: string | null): number[] => {
    const all = cosines(linear);
    return all.slice(1).map((a) => a / all[0]!);
  };

  it('are attributed as the two laws by themselves say, and cancel as they do', () => {
    const levelDbu = 20 * Math.log10(volts / (Math.SQRT2 * Math.sqrt(0.6)));
    const found = foundIn(subjectOfDocument(document, 384e3), { levelDbu, highestOrder: 7 });
    const whole = ratios(null);
    for (const name of ['G1', 'G2']) {
      const left = ratios(name);
      const contribution = contributionOf(found, `limit of ${name}`);
      whole.forEach((ratio, k) => {
        // 1e-7: what the solver leaves of a sample at the measuring tolerance.
        const error = Math.hypot(contribution.re[k]! - (ratio - left[k]!), contribution.im[k]!);
        expect(!(error <= 1e-7) ? `H${k + 2} of ${name}: ${contribution.re[k]} + ${contribution.im[k]}j, the law says ${ratio - left[k]!}` : 'as the law says').toBe('as the law says');
      });
    }
    // H3: the larger is softening, the smaller one stands against it.
    expect(degreesOf(contributionOf(found, 'limit of G1').re[1]!, 0)).toBe(180);
    expect(degreesOf(contributionOf(found, 'limit of G2').re[1]!, 0)).toBe(0);
  });

  it('stand in the phase of the fundamental, wherever that is', () => {
    // Two low-passes turn the tone by 45° each before the pair; a softening third lies opposite the fundamental all the same.
    const delayed = parsedOf([
      input('in'), resistor('RA', 'in', 'a', 1000), capacitor('CA', 'a', 'ground', 1 / (2 * Math.PI * 1000 * 1000)), { kind: 'amplifier', name: 'A', out: ['b', 'ground'], in: ['a', 'ground'], gain: 1 },
      resistor('RB', 'b', 'c', 1000), capacitor('CB', 'c', 'ground', 1 / (2 * Math.PI * 1000 * 1000)),
      { kind: 'tanh-transconductor', name: 'G1', out: ['o', 'ground'], in: ['c', 'ground'], maxAmperes: 0.01, scaleVolts: 10 }, resistor('R1', 'o', 'ground', 1000),
    ], ['o', 'ground']);
    const contribution = contributionOf(foundIn(subjectOfDocument(delayed, 384e3), { levelDbu: 4 }), 'limit of G1');
    expect(Math.abs(Math.abs(degreesOf(contribution.re[1]!, contribution.im[1]!)) - 180)).toBeLessThan(0.01);
  });

  it('a soft pair and diodes that clamp: low orders from the one, high ones from the others', () => {
    const clamp = (name: string, from: string, to: string): Record<string, unknown> => ({ kind: 'diode', name, anode: from, cathode: to, saturationAmperes: 1e-14, emissionCoefficient: 1 });
    const clamped = parsedOf([
      input('in'), resistor('R1', 'o', 'ground', 1000),
      { kind: 'tanh-transconductor', name: 'G1', out: ['o', 'ground'], in: ['in', 'ground'], maxAmperes: 0.01, scaleVolts: 10 },
      source('VU', 'up', 'ground', 1), source('VD', 'down', 'ground', -1), clamp('D1', 'o', 'up'), clamp('D2', 'down', 'o'),
    ], ['o', 'ground']);
    const found = foundIn(subjectOfDocument(clamped, 384e3), { levelDbu: 20 * Math.log10(1.42 / (Math.SQRT2 * Math.sqrt(0.6))), highestOrder: 9 });
    const [pair, upper, lower] = ['limit of G1', 'exponential of D1', 'exponential of D2'].map((label) => contributionOf(found, label));
    // A tanh's third is (v/Vs)²/12 of the fundamental, −55.5 dB; at 1.42 V the diodes draw 0.1 µA beside 1.4 mA.
    expect(Math.abs(db(pair!, 1) - 20 * Math.log10((1.42 / 10) ** 2 / 12))).toBeLessThan(0.1);
    // H9 is the diodes' alone; what the pair does there it does to them, and the remainder takes it back: without either the other has none to give.
    const ninth = (vectors: readonly HarmonicVectors[]): number => decibelsOf(vectors.reduce((sum, { re }) => sum + re[7]!, 0), vectors.reduce((sum, { im }) => sum + im[7]!, 0));
    expect(Math.abs(ninth([upper!, lower!]) - db(found.whole, 7))).toBeLessThan(0.1);
    expect(ninth([pair!, found.ofMechanisms.remainder])).toBeLessThan(db(found.whole, 7) - 40);
    // Each diode clamps one peak: alike in odd orders, against each other in even ones, where the whole has nothing.
    expect(db(upper!, 0)).toBeGreaterThan(-110);
    expect(Math.abs(db(upper!, 0) - db(lower!, 0))).toBeLessThan(0.01);
    expect(db(found.whole, 0)).toBeLessThan(-150);
  });
});

describe('stages that invert', () => {
  it('two alike: the second\'s H2 stands against the first\'s, each as strong as its level says', () => {
    // Two field-effect stages far below their limits: H2 rises with the level, H3 with its square.
    const path = pathOf(['single-ended-field-effect', 'single-ended-field-effect']);
    const levelDbu = -16;
    const subject = subjectOfSetting({ path, joints: null, baseRateHz: 48_000, scope: { kind: 'path' }, programme: null });
    const found = foundIn(subject, { levelDbu, highestOrder: 3 });
    const [first, second] = found.stages.map(({ contribution }) => contribution);
    expect(found.stages.map(({ item }) => item.stageNumber)).toEqual([1, 2]);
    const between = degreesOf(first!.re[0]! * second!.re[0]! + first!.im[0]! * second!.im[0]!, first!.re[0]! * second!.im[0]! - first!.im[0]! * second!.re[0]!);
    // Coupling capacitors turn fundamental and harmonic apart by a degree or two.
    expect(Math.abs(Math.abs(between) - 180)).toBeLessThan(3);
    // y = −g (x + a x²) twice: H2/H1 = (a X/2)(1 − g); what the second adds is g times what the first does, by the level that reaches it.
    const measured = measurePath(subject.plan, { frequencyHz: 1000, peakVolts: probePeakVolts(levelDbu), scope: { kind: 'path' } });
    if (measured.oscillates) throw new Error('expected a steady state');
    const rise = measured.joints[1]!.levelDbu - measured.joints[0]!.levelDbu;
    // Both have the same transistor, load and gain from its gate on, so that the levels behind them stand as those at their gates. 0.1 dB: second order.
    expect(Math.abs(db(second!, 0) - db(first!, 0) - rise)).toBeLessThan(0.1);
    // What they leave is their difference within a hundredth of the first: interaction is of second order.
    const sum = Math.hypot(first!.re[0]! + second!.re[0]!, first!.im[0]! + second!.im[0]!);
    expect(Math.abs(sum - Math.hypot(found.whole.re[0]!, found.whole.im[0]!)) / Math.hypot(first!.re[0]!, first!.im[0]!)).toBeLessThan(0.01);
    expect(measured.harmonics[0]!.db).toBeCloseTo(db(found.whole, 0), 6);
  });
});

describe('the figure', () => {
  const { path, joints } = openingSetting();
  const subject = subjectOfSetting({ path, joints, baseRateHz: 48_000, scope: { kind: 'path' }, programme: null });

  it('is the same to the bit however many workers there were', () => {
    const draw = (workers: number): unknown => view.draw(factsOf(subject), defaults, pointsOf(subject, {}, workers));
    expect(draw(3)).toEqual(draw(1));
  });

  it('tells the cause, offers each mechanism to be heard, and ends with sum, remainder and whole', () => {
    const figure = view.draw(factsOf(subject), defaults, pointsOf(subject, {}));
    expect(figure.caption).toMatch(/^H3 and H5 come mostly from crossover of the output pair, stage 2 \(−4\d\.\d of −4\d\.\d dB, −5\d\.\d of −5\d\.\d dB\);/);
    const [contributions] = figure.tables;
    expect(contributions!.rows.slice(-3).map(({ cells }) => cells[0])).toEqual(['sum, as vectors', 'interaction remainder', 'whole']);
    const crossover = contributions!.rows.find(({ cells }) => cells[0] === 'crossover of the output pair, stage 2')!;
    expect(crossover.trial).toEqual({ kind: 'without', key: path.stages[1]!.key, mechanism: 'crossover' });
    expect(figure.panels.map(({ title }) => title)).toEqual(['Contributions re fundamental', expect.stringMatching(/^H3 as vectors, head to tail: −\d+\.\d dB at −?\d+°$/)]);
    // The whole is where the vectors end.
    const [whole, ...chain] = figure.panels[1]!.traces;
    const end = chain.at(-1)!;
    // What is under the floor is left out of the chain.
    expect(Math.hypot(end.x[1]! - whole!.x[1]!, end.y[1]! - whole!.y[1]!)).toBeLessThan(1e-5);
  });

  it('draws before all has come, and says what is missing', () => {
    const [points] = pointsOf(subject, {});
    const early = view.draw(factsOf(subject), defaults, [{ ...points!, found: points!.found.slice(0, 2) }]);
    expect(early.remarks.at(-1)).toBe(`${points!.found.length - 2} still to come: sums and remainder are of what has come.`);
    expect(view.draw(factsOf(subject), defaults, [undefined]).caption).toBe('Nothing has been measured yet.');
  });

  it('refuses what makes no harmonics', () => {
    const linear = subjectOfSetting({ path: pathOf(['equaliser']), joints: null, baseRateHz: 48_000, scope: { kind: 'path' }, programme: null });
    expect(view.refuse(factsOf(linear), defaults)).toBe('Nothing here bends: it is linear and makes no harmonics.');
  });
});
