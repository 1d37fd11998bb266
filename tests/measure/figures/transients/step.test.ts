import { describe, expect, it } from 'vitest';
import { capacitor, inductor, input, parsedOf, resistor } from '../../../support/circuits.ts';
import { cellOf, figureOf, ofDocument, ofStages } from '../support.ts';

const near = (actual: number, expected: number, limit: number, what: string): void => expect(Math.abs(actual - expected) <= limit, `${what}: expected ${expected} ± ${limit}, got ${actual}`).toBe(true);

const lowPass = (hz: number) => parsedOf([input('in'), resistor('R', 'in', 'out', 1000), capacitor('C', 'out', 'ground', 1 / (2 * Math.PI * 1000 * hz))], ['out', 'ground']);
const highPass = (hz: number) => parsedOf([input('in'), capacitor('C', 'in', 'out', 1 / (2 * Math.PI * 1000 * hz)), resistor('R', 'out', 'ground', 1000)], ['out', 'ground']);
const farads = 1e-9;
function secondOrder(damping: number, hz: number) {
  const henries = 1 / ((2 * Math.PI * hz) ** 2 * farads);
  return parsedOf([input('in'), resistor('R', 'in', 'a', 2 * damping * Math.sqrt(henries / farads)), inductor('L', 'a', 'out', henries), capacitor('C', 'out', 'ground', farads)], ['out', 'ground']);
}

describe.each(['square', 'step'])('edges of a %s', (wave) => {
  it('rise within ln 9/(2π f) through one pole', () => {
    const figure = figureOf('step', ofDocument(lowPass(10_000)), { wave, frequencyHz: 1000 });
    // 0.35/f. One sample of 2.6 µs of the input itself adds a hundredth of that in quadrature.
    for (const direction of ['up', 'down']) near(cellOf(figure, 0, direction, 'rise time') / (Math.log(9) / (2 * Math.PI * 10_000)), 1, 0.01, direction);
    near(cellOf(figure, 0, 'up', 'overshoot'), 0, 0.01, 'overshoot, %');
    // ln 100 time constants, whole samples and half a sample of delay.
    near(cellOf(figure, 0, 'up', 'within 1 %') * 2 * Math.PI * 10_000, Math.log(100), 0.25, 'settling in time constants');
  });

  it('overshoot by exp(−π ζ/√(1 − ζ²)) through a resonance', () => {
    for (const damping of [0.2, 0.5, 0.7]) {
      const figure = figureOf('step', ofDocument(secondOrder(damping, 5000)), { wave, frequencyHz: 100 });
      // 0.15 %: the summit lies between samples, the edge is one sample long.
      near(cellOf(figure, 0, 'up', 'overshoot'), 100 * Math.exp((-Math.PI * damping) / Math.sqrt(1 - damping * damping)), 0.15, `damping ${damping}`);
    }
  });
});

describe('tilt', () => {
  it('of a square wave through a high-pass is 2 tanh(π fc/2f), near π fc/f', () => {
    for (const hz of [1, 5, 15]) {
      const figure = figureOf('step', ofDocument(highPass(hz)), { frequencyHz: 100 });
      const expected = 200 * Math.tanh((Math.PI * hz) / 200);
      near(cellOf(figure, 0, 'up', 'tilt') / expected, 1, 0.01, `${hz} Hz`);
      near(cellOf(figure, 0, 'down', 'tilt') / expected, 1, 0.01, `${hz} Hz, falling`);
    }
  });
});

describe('slew rate of the op-amp stages', () => {
  it('is 1.0 V/µs of the integrated kind, on either edge', () => {
    const figure = figureOf('step', ofStages(['op-amp-integrated']), { frequencyHz: 5000, levelDbu: 16 });
    // Reference design, whose loop takes a tenth more or less by its second stage and load.
    for (const direction of ['up', 'down']) near(cellOf(figure, 0, direction, 'slew rate'), 1, 0.2, direction);
    expect(figure.caption).not.toContain('at least');
  });

  it('is told as a lower limit where the edge is over within two samples', () => {
    const figure = figureOf('step', ofStages(['op-amp-discrete']), { frequencyHz: 5000, levelDbu: 10 });
    expect(figure.caption).toMatch(/slew rate at least [\d.]+ V\/µs/);
  });
});

describe('a stage alone', () => {
  it('is driven as strongly as the tone that reaches it, and a wire is refused', () => {
    const figure = figureOf('step', ofStages([{ stage: 'harmonic-shaping', values: { makeUpDb: -6 } }, 'push-pull'], 's2'), { levelDbu: -20 });
    const alone = figureOf('step', ofStages(['push-pull']), { levelDbu: -26 });
    near(cellOf(figure, 0, 'up', 'step') / cellOf(alone, 0, 'up', 'step'), 1, 1e-3, 'step');
    expect(() => figureOf('step', ofStages([]))).toThrow('No stage is in circuit');
  });
});
