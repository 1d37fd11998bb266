/**
 * Rayleigh's law with reversal-point memory, apart from any circuit. What Rayleigh's law gives was worked out by hand from the law itself (Lord Rayleigh 1887; R. M. Bozorth, "Ferromagnetism", 1951, ch. 11, both from
 * memory): the loop |λ − λr| = L0 |i − ir| + (ν/2)(i − ir)², its loss (4/3) ν i³ a cycle, its harmonics; that nested loops close and are forgotten is Madelung's (1905).
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Core } from '../../dsp/circuit/index.ts';
import {
  coreFluxScale, coreHead, coreHistoryLength, coreLaw, coreParameters, coreReversals, moveCore, retraceCore, reversibleSlope, startCore,
} from '../../dsp/circuit/core-law.ts';
import { expectWithin } from './support.ts';

const core = (more: Partial<Core> = {}): Core => ({
  kind: 'core', name: 'T', between: ['a', 'b'], inductanceHenries: 10, rayleighHenriesPerAmpere: 1800, saturationVoltSeconds: null, gapHenries: null, ...more,
});
/** λ = i + i² on the initial curve, Δλ = Δi + Δi²/2 from a reversal: numbers for the head. */
const plain = core({ inductanceHenries: 1, rayleighHenriesPerAmpere: 1 });

/** A winding that is led from flux to flux. */
class Winding {
  readonly history = new Float64Array(coreHistoryLength);
  readonly parameters: Float64Array;

  constructor(component: Core) {
    this.parameters = Float64Array.from(coreParameters(component));
    startCore(this.parameters, 0, this.history, 0, 0);
  }

  get reversals(): number {
    return this.history[coreHead.count]!;
  }

  at(flux: number): { readonly current: number; readonly slope: number } {
    const [i, j] = [new Float64Array(1), new Float64Array(1)];
    coreLaw(this.parameters, 0, this.history, 0, Float64Array.of(flux), 0, i, 0, j, 0);
    return { current: i[0]!, slope: j[0]! };
  }

  private move(flux: number): void {
    moveCore(this.parameters, 0, this.history, 0, Float64Array.of(flux), 0);
  }

  /** In one step, or in many. Current there. */
  to(flux: number, steps = 1): number {
    const from = this.history[coreHead.last]!;
    for (let k = 1; k < steps; k += 1) this.move(from + ((flux - from) * k) / steps);
    this.move(flux);
    return this.at(flux).current;
  }

  /** The flux at which the current is i. */
  fluxAt(i: number): number {
    let flux = this.history[coreHead.last]!;
    for (let k = 0; k < 60; k += 1) {
      const { current, slope } = this.at(flux);
      flux -= (current - i) / slope;
    }
    return flux;
  }
}

/** The same memory without an end, and the currents from the start each time: extremes of the flux that no later one has passed. */
class EndlessMemory {
  private extremes: number[] = [];
  private readonly l: number;
  private readonly nu: number;

  constructor({ inductanceHenries, rayleighHenriesPerAmpere }: Core) {
    this.l = inductanceHenries;
    this.nu = rayleighHenriesPerAmpere;
  }

  /** Current at the next turning point (or where the flux stands now: it counts as one). */
  to(flux: number): number {
    const list = this.extremes;
    // Passed: a swing from the last but one that the new one covers, and at the outside the mirror image of the first.
    for (;;) {
      const n = list.length;
      // Staying, or going on the same way: the last was no turning point.
      if (flux === list[n - 1] || (n >= 2 && (flux - list[n - 1]!) * (list[n - 1]! - list[n - 2]!) > 0)) list.pop();
      else if (n >= 2 && (flux - list[n - 1]!) * (list[n - 2]! - list[n - 1]!) > 0 && Math.abs(flux - list[n - 1]!) >= Math.abs(list[n - 2]! - list[n - 1]!)) list.splice(n - 2, 2);
      else if (n === 1 && Math.abs(flux) >= Math.abs(list[0]!)) list.pop();
      else break;
    }
    list.push(flux);
    const solve = (delta: number, nu: number): number => (Math.sign(delta) * (Math.sqrt(this.l * this.l + 4 * nu * Math.abs(delta)) - this.l)) / (2 * nu);
    return list.reduce((sum, extreme, k) => sum + (k === 0 ? solve(extreme, this.nu) : solve(extreme - list[k - 1]!, this.nu / 2)), 0);
  }
}

/** a cos + b sin amplitudes of odd orders of one cycle given by its samples. */
function harmonics(wave: readonly number[], orders: readonly number[]): number[] {
  return orders.map((order) => {
    let [c, s] = [0, 0];
    wave.forEach((value, k) => {
      c += value * Math.cos((2 * Math.PI * order * k) / wave.length);
      s += value * Math.sin((2 * Math.PI * order * k) / wave.length);
    });
    return Math.hypot(c, s) / (wave.length / 2);
  });
}

const db = (ratio: number): number => 20 * Math.log10(ratio);

describe('a demagnetised core', () => {
  it('follows λ = L0 i + ν i² both ways, at the peak with L0 (1 + η)', () => {
    for (const flux of [6, -6, 1e-3, -0.11]) {
      const i = new Winding(plain).to(flux);
      expectWithin(i + Math.sign(i) * i * i, flux, 1e-14);
    }
    const i = new Winding(core()).to(0.0138);
    expectWithin(0.0138 / i, 10 * (1 + (1800 * i) / 10), 1e-10);
  });

  it('through 0 goes on along the initial curve of the other side only where nothing is remembered', () => {
    const winding = new Winding(plain);
    expectWithin(winding.to(6), 2, 1e-14);
    // 6 Vs back: Δi + Δi²/2 = 6.
    expectWithin(winding.to(0), 2 - (Math.sqrt(13) - 1), 1e-14);
    expect(winding.reversals).toBe(1);
  });
});

describe('nested loops', () => {
  it.each([1, 7, 1000])('by hand, %d steps a swing', (steps) => {
    const winding = new Winding(plain);
    const way: readonly (readonly [flux: number, amperes: number, reversals: number])[] = [
      [6, 2, 0], [2, 0, 1], [3.5, 1, 2],
      // Closes the loop 2 … 3.5, and is then on the branch that left 6.
      [2, 0, 3], [-1.5, -1, 1],
      // Up again and through 6: both loops are forgotten, the initial curve goes on.
      [6, 2, 2], [12, 3, 0],
      // Down to the mirror image, and past it.
      [-12, -3, 1], [-20, -4, 0], [-20 + 12, 0, 1],
    ];
    for (const [flux, amperes, reversals] of way) {
      expectWithin(winding.to(flux, steps), amperes, 1e-13, `${flux} Vs`);
      expect(winding.reversals, `${flux} Vs`).toBe(reversals);
    }
  });

  it('one step may close several at once, as Newton sees it and as it is kept', () => {
    const winding = new Winding(plain);
    for (const flux of [6, -5, 4, -3, 2, -1]) winding.to(flux);
    // On the way up through 2, 4 and 6 to where the initial curve has 3 A; then back inside.
    expectWithin(winding.at(12).current, 3, 1e-13);
    expect(winding.reversals).toBe(5);
    expectWithin(winding.to(12), 3, 1e-13);
    expect(winding.reversals).toBe(0);
  });

  /** Multiples of 1 mVs, so that fluxes come back to the very same ones, too. */
  const swings = fc.array(fc.integer({ min: -250, max: 250 }).map((steps) => steps / 1000), { minLength: 1, maxLength: 40 });

  it('have the currents of a memory without an end', () => {
    fc.assert(fc.property(swings, (fluxes) => {
      const [winding, endless] = [new Winding(core()), new EndlessMemory(core())];
      for (const flux of fluxes) {
        const [got, expected] = [winding.to(flux), endless.to(flux)];
        // Roundings of sums of up to forty terms of 10 mA.
        if (!(Math.abs(got - expected) <= 1e-14)) throw new Error(`at ${flux} Vs: ${got} A, expected ${expected} A`);
      }
    }), { seed: 20261125, numRuns: 300 });
  });

  it('never fall: more flux is more current, on every branch', () => {
    fc.assert(fc.property(swings, fc.double({ min: -0.3, max: 0.3, noNaN: true }), fc.double({ min: 1e-9, max: 0.1, noNaN: true }), (fluxes, flux, more) => {
      const winding = new Winding(core({ saturationVoltSeconds: 0.2, gapHenries: 3 }));
      for (const each of fluxes) winding.to(each);
      const [low, high] = [winding.at(flux), winding.at(flux + more)];
      expect(high.current).toBeGreaterThan(low.current);
      expect(low.slope).toBeGreaterThan(0);
    }), { seed: 20261125, numRuns: 300 });
  });

  it('a reversal that comes back at once is followed, but not remembered', () => {
    const winding = new Winding(core());
    winding.to(0.01);
    const before = winding.history.slice(0, 7);
    const little = 0.5e-6 * coreFluxScale(core());
    expectWithin((winding.at(0.01).current - winding.to(0.01 - little)) / little, 0.1, 1e-6);
    expect(winding.history.slice(0, 7)).toEqual(before);
    winding.to(0.01 - 3 * little);
    expect(winding.reversals).toBe(1);
  });

  it('is retraced by another core', () => {
    const [from, to] = [new Winding(core()), new Winding(core({ inductanceHenries: 14, rayleighHenriesPerAmpere: 900 }))];
    const again = new Winding(core({ inductanceHenries: 14, rayleighHenriesPerAmpere: 900 }));
    for (const flux of [0.1, -0.07, 0.06, -0.01, 0.02]) for (const winding of [from, again]) winding.to(flux, 5);
    retraceCore(to.parameters, 0, from.history, 0, 0, to.history, 0);
    expect([...to.history.slice(0, 15)]).toEqual([...again.history.slice(0, 15)]);
  });
});

describe('more reversals than are kept', () => {
  it('a tone that dies away for 400 turns jumps by less than 2e-4 of what hysteresis does', () => {
    const [winding, endless] = [new Winding(core()), new EndlessMemory(core())];
    const peak = 0.0138;
    let [jump, before, worst, hysteresis] = [0, 0, 0, 0];
    for (let turn = 0; turn < 400; turn += 1) {
      const flux = peak * (1 - turn / 400) * (turn % 2 === 0 ? 1 : -1);
      const error = winding.to(flux, 3) - endless.to(flux);
      jump = Math.max(jump, Math.abs(error - before));
      before = error;
      worst = Math.max(worst, Math.abs(error));
      hysteresis = Math.max(hysteresis, Math.abs(endless.to(flux) - flux / 10));
      expect(winding.reversals).toBeLessThanOrEqual(coreReversals);
    }
    console.log(`thinned: jumps of ${jump} A, ${worst} A in all, of ${hysteresis} A`);
    // A pair left out costs (ν/L0³) of the product of the two swings' differences: 25 nA here, 3 µV at 118 Ω beside a tone of 1.7 V.
    expect(jump).toBeLessThan(2e-4 * hysteresis);
    expect(worst).toBeLessThan(1e-3 * hysteresis);
    // … and back up through what is left it closes where it began.
    expectWithin(winding.to(peak), new Winding(core()).to(peak), 1e-12);
    expect(winding.reversals).toBe(2);
  });
});

describe('what Rayleigh’s law says of a cycle', () => {
  it('a loop loses (4/3) ν i³', () => {
    for (const peakAmperes of [1e-4, 0.5e-3, 3e-3]) {
      const winding = new Winding(core());
      const peak = winding.fluxAt(peakAmperes);
      winding.to(peak);
      let area = 0;
      const steps = 4000;
      for (let half = 0; half < 2; half += 1) {
        let before = winding.at(winding.history[coreHead.last]!).current;
        for (let k = 1; k <= steps; k += 1) {
          const flux = (half === 0 ? 1 : -1) * peak * (1 - (2 * k) / steps);
          const now = winding.to(flux);
          area += ((before + now) / 2) * (half === 0 ? -1 : 1) * ((2 * peak) / steps);
          before = now;
        }
      }
      // Trapezoids: 1/steps².
      expectWithin(area / ((4 / 3) * 1800 * peakAmperes ** 3), 1, 1e-5);
    }
  });

  it('sinusoidal current: the flux has H3 : H5 : H7 = 1 : 1/7 : 1/21', () => {
    const winding = new Winding(core());
    const peak = 1e-3;
    winding.to(winding.fluxAt(peak));
    const wave = Array.from({ length: 2048 }, (_, k) => {
      const flux = winding.fluxAt(peak * Math.cos((2 * Math.PI * k) / 2048));
      winding.to(flux);
      return flux;
    });
    const [h3, h5, h7] = harmonics(wave, [3, 5, 7]) as [number, number, number];
    // 2,048 points of a wave with corners in its slope: 1e-5.
    expectWithin(h5 / h3, 1 / 7, 1e-4);
    expectWithin(h7 / h3, 1 / 21, 1e-4);
  });

  /** Third harmonic over fundamental of the current of a sinusoidal flux, and η of its peak. */
  function sinusoidalFlux(eta: number): { readonly ratio: number; readonly orders: readonly number[] } {
    const winding = new Winding(core());
    const peakAmperes = (eta * 10) / 1800;
    const peak = winding.fluxAt(peakAmperes);
    winding.to(peak);
    const wave = Array.from({ length: 2048 }, (_, k) => winding.to(peak * Math.cos((2 * Math.PI * k) / 2048)));
    const orders = harmonics(wave, [1, 3, 5, 7]);
    return { ratio: orders[1]! / orders[0]!, orders };
  }

  it('sinusoidal flux: (4/15π) η of third harmonic, 0.8 dB less at η 0.09, 1.6 dB at 0.2', () => {
    const small = (eta: number): number => (4 / (15 * Math.PI)) * eta;
    expectWithin(db(sinusoidalFlux(1e-3).ratio / small(1e-3)), 0, 0.02);
    // Figures of one decimal at an η of one: 0.05, and a little for the η.
    expectWithin(db(sinusoidalFlux(0.09).ratio / small(0.09)), -0.8, 0.06);
    expectWithin(db(sinusoidalFlux(0.2).ratio / small(0.2)), -1.6, 0.06);
    const { orders: [, h3, h5, h7] } = sinusoidalFlux(1e-3);
    expectWithin(h5! / h3!, 1 / 7, 1e-3);
    expectWithin(h7! / h3!, 1 / 21, 1e-3);
  });
});

describe('saturation and gap', () => {
  it('the saturating slope is ten times 1/L0 at λs, 1/2000 of 1/L0 at a third of it, and at most a thousand times 1/L0', () => {
    const [with_, without] = [new Winding(core({ saturationVoltSeconds: 0.2 })), new Winding(core())];
    const added = (flux: number): number => 10 * (with_.at(flux).slope - without.at(flux).slope);
    expectWithin(added(0.2), 10, 1e-12);
    expectWithin(added(-0.2), 10, 1e-12);
    expect(added(0.2 / 3)).toBeLessThan(2e-3);
    for (const flux of [0.36, 1, -5]) expectWithin(added(flux), 1000, 1e-9);
  });

  it('current and slope belong together and have no steps but at a reversal', () => {
    const winding = new Winding(core({ saturationVoltSeconds: 0.2, gapHenries: 2 }));
    winding.to(-0.6);
    for (let flux = -0.599; flux < 0.6; flux += 0.0011) {
      const step = 1e-7;
      const [low, mid, high] = [flux - step, flux, flux + step].map((x) => winding.at(x)) as [{ current: number; slope: number }, { current: number; slope: number }, { current: number; slope: number }];
      const difference = (high.current - low.current) / (2 * step);
      // Rounding of 60 A over 2e-7, and the bend where the air core's straight line begins.
      if (!(Math.abs(difference - mid.slope) <= 1e-5 * mid.slope + 1e-6)) expect.fail(`${flux} Vs: slope ${mid.slope}, differences give ${difference}`);
      if (!(Math.abs(high.slope - low.slope) <= 1e-3 * mid.slope)) expect.fail(`${flux} Vs: slope jumps from ${low.slope} to ${high.slope}`);
    }
  });

  it('a gap adds λ/Lgap; small signals see L0 ∥ Lgap', () => {
    const winding = new Winding(core({ gapHenries: 0.8 }));
    expectWithin(winding.at(0.01).current - new Winding(core()).at(0.01).current, 0.01 / 0.8, 1e-15);
    expectWithin(1 / reversibleSlope(winding.parameters, 0, 0.01), (10 * 0.8) / 10.8, 1e-12);
  });
});

it('NaN and infinity come out as they may and leave the memory to be reset', () => {
  const winding = new Winding(core({ saturationVoltSeconds: 0.2 }));
  winding.to(0.01);
  winding.to(-0.005);
  expect(winding.at(NaN).current).toBeNaN();
  winding.to(NaN);
  expect(winding.reversals).toBe(1);
  expect(winding.at(1e300).current).toBeGreaterThan(1e300);
});
