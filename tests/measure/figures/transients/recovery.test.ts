import { describe, expect, it } from 'vitest';
import { capacitor, input, parsedOf, resistor } from '../../../support/circuits.ts';
import { compiled } from '../../../support/compiled-code.ts';
import { cellOf, columnOf, figureOf, ofDocument, ofStages } from '../support.ts';

const near = (actual: number, expected: number, limit: number, what: string): void => expect(Math.abs(actual - expected) <= limit, `${what}: expected ${expected} ± ${limit}, got ${actual}`).toBe(true);

/** A diode to ground behind 10 kΩ, a coupling capacitor before it: a strong tone charges the capacitor, which lets go through R. */
const tauSeconds = 20e-3;
const clamp = parsedOf([
  input('in'), capacitor('C', 'in', 'out', 1e-6), resistor('R', 'out', 'ground', tauSeconds / 1e-6),
  { kind: 'diode', name: 'D', anode: 'out', cathode: 'ground', saturationAmperes: 1e-12, emissionCoefficient: 1 },
], ['out', 'ground']);

describe('recovery after overload', () => {
  const figure = figureOf('recovery', ofDocument(clamp, 96_000), { burstDbu: 20, afterDbu: -40, burstSeconds: 0.02, watchedSeconds: 0.26 });

  it('shifts the mean by what the diode charged, and lets it go with R C', () => {
    const [times, shift] = [columnOf(figure, 1, 'time'), columnOf(figure, 1, 'shift of the mean')];
    // +20 dBu is 10.95 V peak, of which the diode keeps a few tenths.
    expect(shift[0]! < -9 && shift[0]! > -10.95).toBe(true);
    const [a, b] = [times.findIndex((each) => each >= 0.02), times.findIndex((each) => each >= 0.06)];
    near((times[b]! - times[a]!) / Math.log(shift[a]! / shift[b]!) / tauSeconds, 1, 0.01, 'time constant over R C');
  });

  it('deviates in a cycle at most by what its mean, an exponential, begins with', () => {
    const [shift, deviation] = [columnOf(figure, 1, 'shift of the mean'), columnOf(figure, 1, 'deviation')];
    const cycle = 0.001 / tauSeconds;
    // Of the tone at −40 dBu through the open circuit. 0.5 %: a sample less of the exponential, and the diode's last microamperes.
    const peak = Math.sqrt(1.2) * 10 ** (-40 / 20);
    for (const k of [40, 100, 200]) near(Math.abs(shift[k]!) / ((10 ** (deviation[k]! / 20) * peak * (1 - Math.exp(-cycle))) / cycle), 1, 0.005, `cycle ${k}`);
  });

  it('is within 1 % after as many time constants as its shift is over 1 % of the tone', () => {
    const peak = Math.sqrt(1.2) * 10 ** (-40 / 20);
    const shift = columnOf(figure, 1, 'shift of the mean');
    const times = columnOf(figure, 1, 'time');
    // From a cycle in the middle on; half a cycle is where its mean stands.
    const k = 40;
    const expected = times[k]! - 0.0005 + tauSeconds * Math.log(Math.abs(shift[k]!) / (0.01 * peak));
    near(cellOf(figure, 0, '1 %', 'after') / expected, 1, 0.01, 'time');
    expect(figure.caption).toContain('within 0.1 % not within 260 ms');
  });

  it('of a linear circuit is at once what it was when the burst is over by its time constant, and refuses a burst that is none', () => {
    const linear = parsedOf([input('in'), resistor('R', 'in', 'out', 1000), capacitor('C', 'out', 'ground', 1e-9)], ['out', 'ground']);
    const quick = figureOf('recovery', ofDocument(linear), { burstDbu: 20, afterDbu: -20, watchedSeconds: 0.02 });
    // RC of 1 µs, 100 times the tone at a zero of the sine: ln(100 · 0.0063/0.01) time constants, under 12 µs with the sampling.
    expect(cellOf(quick, 0, '1 %', 'after') <= 12e-6).toBe(true);
    expect(() => figureOf('recovery', ofDocument(linear), { burstDbu: -30, afterDbu: -20 })).toThrow('expected a burst above the tone after it');
  });
});

describe('bias after a step in drive', () => {
  it('charges the coupling capacitor of a clamp by what the tone is over the diode, and its mean follows', () => {
    const figure = figureOf('bias-shift', ofDocument(clamp, 96_000), { beforeDbu: -40, afterDbu: 20, watchedSeconds: 0.1 });
    const mean = cellOf(figure, 0, 'mean of the output', 'last cycle');
    // The circuit's input has no mean: the capacitor holds what the output lacks.
    near(cellOf(figure, 0, 'C', 'last cycle') + mean, 0, 0.05, 'capacitor and mean');
    expect(mean < -9).toBe(true);
    expect(cellOf(figure, 0, 'C', 'time constant') > 0).toBe(true);
  });

  it('shows the stages’ capacitors by name, and the same with compiled code', () => {
    const values = { watchedSeconds: 0.02 };
    const subject = ofStages(['single-ended-bipolar', 'push-pull']);
    const loops = figureOf('bias-shift', subject, values);
    expect(loops.tables[0]!.rows.map(({ cells }) => cells[0]).slice(4).join(' ')).toMatch(/1 Single-ended stage, bipolar: /);
    expect(compiled(() => figureOf('bias-shift', subject, values))).toEqual(loops);
  });

  it('refuses two levels that are one', () => {
    expect(() => figureOf('bias-shift', ofDocument(clamp), { beforeDbu: 10, afterDbu: 10 })).toThrow('expected two that differ');
  });
});
