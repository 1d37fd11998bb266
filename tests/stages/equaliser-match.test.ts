/** The equaliser as it runs: its curve against the analogue one at every rate, and what it adds of its own. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createStageRunner, linearTransfer, resolveValues, stageById, steadyLinear } from '../../dsp/stages/index.ts';
import type { LinearProgram, StageValues } from '../../dsp/stages/index.ts';
import { frequencyMap, highestOrder, mapped, mapTolerance } from '../../dsp/stages/equaliser/frequency-map.ts';
import { matchError } from '../../dsp/stages/equaliser/match-error.ts';
import { sectionsOf } from '../../dsp/stages/equaliser/prototype.ts';
import { bandwidthOctaves } from '../../dsp/stages/equaliser/read-outs.ts';
import { readSection, sectionSize } from '../../dsp/stages/equaliser/section.ts';
import { parameters } from '../../dsp/stages/equaliser/table.ts';
import { noise } from './support/signals.ts';

const stage = stageById('equaliser');
const allOff: StageValues = Object.fromEntries([1, 2, 3, 4, 5, 6].map((n) => [`section${n}Kind`, 'off']));
const equaliser = (given: StageValues): StageValues => resolveValues(stage, { ...allOff, ...given });
const programAt = (values: StageValues, rateHz: number): LinearProgram => stage.program(values, { rateHz, source: null }) as LinearProgram;
const rates = [44_100, 48_000].flatMap((base) => [1, 2, 4, 8, 16].map((factor) => ({ base, factor, rateHz: base * factor })));
const db = ({ re, im }: { readonly re: number; readonly im: number }): number => 10 * Math.log10(re * re + im * im);

/** Promised: 0.02 dB to 20 kHz for any values, six sections together. */
const promisedDb = 0.02;

/** Frequencies over the band and close together round every section, 20 Hz … 20 kHz. */
function looks(values: StageValues): number[] {
  const even = Array.from({ length: 201 }, (_, k) => 20 * 1000 ** (k / 200));
  const near = sectionsOf(values).flatMap((section) => {
    const octaves = section.kind === 'bell' ? 3 * bandwidthOctaves(section.quality) : 1;
    return Array.from({ length: 101 }, (_, k) => section.hertz * 2 ** (octaves * (k / 100 - 0.5)));
  });
  return [...even, ...near.filter((hz) => hz >= 20 && hz <= 20_000)];
}

function worstDb(values: StageValues, rateHz: number): number {
  const program = programAt(values, rateHz);
  const frequencies = looks(values);
  let worst = 0;
  stage.transfer!(values, frequencies).forEach((analogue, k) => {
    const off = Math.abs(db(linearTransfer(program, frequencies[k]!)) - db(analogue));
    if (!(off <= worst)) worst = off;
  });
  return worst;
}

const bells = [20, 1000, 10e3, 16e3, 18e3, 20e3].flatMap((hz) => [-18, 12, 18].flatMap((amount) => [0.1, 1, 30].map((q): StageValues =>
  ({ section1Kind: 'bell', section1Hz: hz, section1Db: amount, section1Quality: q }))));
const shelves = ['low-shelf', 'high-shelf'].flatMap((kind) => [20, 1000, 12e3, 20e3].flatMap((hz) => [-18, 18].flatMap((amount) => [
  { section1Order: 'first' }, { section1Steepness: 0.1 }, { section1Steepness: 2.5 }, { section1Order: 'second-apart', section1ZeroQ: 3, section1PoleQ: 0.1 },
].map((shape): StageValues => ({ section1Kind: kind, section1Hz: hz, section1Db: amount, ...shape })))));

describe.each(rates)('at $base Hz × $factor', ({ rateHz }) => {
  it('each shelf and bell has the analogue curve to 20 kHz within 0.02 dB', () => {
    let worst = 0;
    for (const given of [...bells, ...shelves]) {
      const off = worstDb(equaliser(given), rateHz);
      if (!(off <= promisedDb / 6)) throw new Error(`${JSON.stringify(given)}: ${off} dB off, limit ${promisedDb / 6} dB: six sections add up`);
      worst = Math.max(worst, off);
    }
    expect(worst).toBeGreaterThan(0);
  });

  it('takes few sections for it, fewer the higher the rate', () => {
    const map = frequencyMap(rateHz);
    expect(map.worstError).toBeLessThanOrEqual(mapTolerance);
    expect(map.order).toBe(rateHz >= 352_800 ? 1 : rateHz >= 88_200 ? 2 : rateHz === 48_000 ? 4 : 5);
  });

  it('has a frequency map that rises, without a pole, up to half the rate', () => {
    const map = frequencyMap(rateHz);
    let before = 0;
    for (let k = 1; k <= 5000; k += 1) {
      const value = mapped(map, k / 5000);
      if (!(value > before)) throw new Error(`R(${k / 5000}) = ${value} after ${before}`);
      before = value;
    }
  });

  it('has its poles and zeros inside the unit circle', () => {
    for (const given of [...bells, ...shelves]) {
      const { coefficients } = programAt(equaliser(given), rateHz);
      for (let from = 0; from < coefficients.length; from += sectionSize) {
        const { g, k: damping, direct, band, low } = readSection(coefficients, from);
        // Numerator direct S² + (band + direct k) S + (low + direct): one sign throughout.
        const signs = [g, damping, direct, band + direct * damping, low + direct].map(Math.sign);
        expect(signs, JSON.stringify(given)).toEqual([1, 1, 1, 1, 1]);
      }
    }
  });
});

const anyValues = fc.record(Object.fromEntries(parameters.map((parameter) => [parameter.id, parameter.kind === 'choice'
  ? fc.constantFrom(...parameter.options.map(({ id }) => id))
  : fc.double({ min: 0, max: 1, noNaN: true }).map((share) => Math.min(parameter.maximum, Math.max(parameter.minimum,
    parameter.taper === 'logarithmic' ? parameter.minimum * (parameter.maximum / parameter.minimum) ** share : parameter.minimum + share * (parameter.maximum - parameter.minimum))))])));

it('keeps the promise for any values of its table, at any rate, and says no smaller error than there is', () => {
  fc.assert(fc.property(anyValues, fc.constantFrom(...rates.map(({ rateHz }) => rateHz)), (values, rateHz) => {
    const worst = worstDb(values, rateHz);
    if (!(worst <= promisedDb)) throw new Error(`${worst} dB off`);
    const said = Math.abs(matchError(values, programAt(values, rateHz)).db);
    // Its own looks are not these: a fifth, and 0.00001 dB.
    if (!(said >= 0.8 * worst - 1e-5)) throw new Error(`says ${said} dB, is ${worst} dB`);
  }), { seed: 20261125, numRuns: 100 });
});

it('makes no map of more than the highest order, at rates too low for 20 kHz too', () => {
  for (const rateHz of [8000, 16_000, 22_050, 32_000]) {
    const { order, worstError } = frequencyMap(rateHz);
    expect(order).toBeLessThanOrEqual(highestOrder);
    expect(worstError).toBeLessThanOrEqual(mapTolerance);
    const values = equaliser({ section1Kind: 'bell', section1Hz: 20e3, section1Db: 18, section1Quality: 30, section2Kind: 'high-shelf', section2Db: 9, section2Hz: 15e3 });
    expect(programAt(values, rateHz).coefficients.every(Number.isFinite)).toBe(true);
  }
});

/** Six sections at work. */
const busy = equaliser({
  section1Kind: 'bell', section1Hz: 20, section1Db: 18, section1Quality: 30, section2Kind: 'low-shelf', section2Hz: 100, section2Db: 12, section3Kind: 'bell', section3Hz: 1000, section3Db: -18,
  section3Quality: 30, section4Kind: 'bell', section4Hz: 3000, section4Db: 12, section4Quality: 4, section5Kind: 'high-shelf', section5Hz: 6000, section5Db: 6, section5Order: 'first',
  section6Kind: 'bell', section6Hz: 20e3, section6Db: -18, section6Quality: 0.1, makeUpDb: -7,
});

/** Amplitude of a harmonic of a whole period. */
function amplitude(output: Float64Array, order: number): number {
  let [re, im] = [0, 0];
  output.forEach((volts, n) => {
    re += volts * Math.cos((2 * Math.PI * order * n) / output.length);
    im += volts * Math.sin((2 * Math.PI * order * n) / output.length);
  });
  return Math.hypot(re, im);
}

function expectClean(output: Float64Array): void {
  const fundamental = amplitude(output, 1);
  for (let order = 2; order <= 10; order += 1) {
    const level = 20 * Math.log10(amplitude(output, order) / fundamental);
    if (!(level <= -150)) throw new Error(`H${order}: ${level} dB`);
  }
}

const tone = (frames: number): Float64Array => Float64Array.from({ length: frames }, (_, n) => 17 * Math.cos((2 * Math.PI * n) / frames));

describe('what it adds', () => {
  it.each(rates.flatMap(({ rateHz }) => [20, 1000].map((hz) => ({ rateHz, hz }))))('no harmonic above −150 dB of a $hz Hz tone at $rateHz Hz, in the periodic state of the loop', ({ rateHz, hz }) => {
    expectClean(steadyLinear(programAt(busy, rateHz), tone(Math.round(rateHz / hz))));
  });

  it.each([[48_000, 20], [48_000, 1000], [384_000, 1000]] as const)('nor run in time until it has settled, at %d Hz, %d Hz', (rateHz, hz) => {
    // The slowest bell's time constant is 0.18 s; 4 s are 190 dB of settling.
    const runner = createStageRunner(programAt({ ...busy, section1Quality: 4 }, rateHz), 1);
    const wave = tone(Math.round(rateHz / hz));
    const buffer = new Float64Array(wave.length);
    for (let period = 0; period < 4 * hz; period += 1) {
      buffer.set(wave);
      runner.process([buffer], 0, buffer.length);
    }
    expectClean(buffer);
  });

  it('noise of its own rounding at least 200 dB under line level', () => {
    // The same programme once as it is and once scaled by what is no power of two: rounded differently, and otherwise the same.
    const frames = 96_000;
    const input = noise(frames, 1.7, 7);
    const factor = 1.1;
    const [plain, other] = [Float64Array.from(input), input.map((volts) => volts * factor)];
    createStageRunner(programAt(busy, 768_000), 1).process([plain], 0, frames);
    createStageRunner(programAt(busy, 768_000), 1).process([other], 0, frames);
    let square = 0;
    plain.forEach((volts, n) => { square += (volts - other[n]! / factor) ** 2; });
    const floorDb = 10 * Math.log10(square / frames) - 20 * Math.log10(1.228);
    expect(floorDb, `${floorDb} dB`).toBeLessThan(-200);
  });
});

describe('running', () => {
  it.each([44_100, 384_000])('in time does what its transfer says, at %d Hz', (rateHz) => {
    const program = programAt(busy, rateHz);
    // An impulse, long enough for the slowest bell to die to 1e-7: 2.2 · 85 / 20 Hz for 60 dB; the tail left out is what the limit is for.
    const values = equaliser({ section2Kind: 'low-shelf', section2Db: 12, section3Kind: 'bell', section3Hz: 1000, section3Db: -18, section5Kind: 'high-shelf', section5Db: 6, section5Order: 'first' });
    const short = programAt(values, rateHz);
    const frames = Math.round(rateHz / 4);
    const response = new Float64Array(frames);
    response[0] = 1;
    createStageRunner(short, 1).process([response], 0, frames);
    for (const hz of [60, 1000, 9000, 18_000]) {
      const w = (2 * Math.PI * hz) / rateHz;
      let [re, im] = [0, 0];
      response.forEach((volts, n) => { re += volts * Math.cos(w * n); im -= volts * Math.sin(w * n); });
      const expected = linearTransfer(short, hz);
      expect(Math.hypot(re - expected.re, im - expected.im) / Math.hypot(expected.re, expected.im), `${hz} Hz`).toBeLessThan(1e-6);
    }
    expect(program.places.length).toBe(6 * frequencyMap(rateHz).order);
  });

  it('finds the memory of each section again when another is switched off or on', () => {
    const rateHz = 48_000;
    const both = equaliser({ section1Kind: 'bell', section1Db: 6, section1Hz: 80, section1Quality: 10, section4Kind: 'low-shelf', section4Db: 9, section4Hz: 200 });
    const shelfOnly = { ...both, section1Kind: 'off' };
    const input = noise(9600, 1, 3);
    const before = createStageRunner(programAt(both, rateHz), 1);
    const first = Float64Array.from(input);
    before.process([first], 0, 4800);
    const next = createStageRunner(programAt(shelfOnly, rateHz), 1);
    next.adopt(before, 'settled');
    next.process([first], 4800, 4800);
    // After some 5 time constants of the shelf, the same as if the bell had never been.
    const reference = Float64Array.from(input);
    createStageRunner(programAt(shelfOnly, rateHz), 1).process([reference], 0, 9600);
    // The memory is that of the shelf behind the bell: off by at most what the bell did to it, and never more than from rest.
    const fromRest = Float64Array.from(input);
    createStageRunner(programAt(shelfOnly, rateHz), 1).process([fromRest], 4800, 4800);
    const distance = (wave: Float64Array): number => Math.abs(wave[4800]! - reference[4800]!);
    expect(distance(first)).toBeLessThan(distance(fromRest));
    expect(Math.abs(first[9599]! - reference[9599]!)).toBeLessThan(1e-6);
  });

  it('starts afresh behind a sample that is no number, in that channel alone', () => {
    const [left, right] = [noise(600, 2, 1), noise(600, 2, 2)];
    const [clean, fresh] = [Float64Array.from(right), left.slice(301)];
    const program = programAt(busy, 48_000);
    createStageRunner(program, 1).process([clean], 0, 600);
    createStageRunner(program, 1).process([fresh], 0, fresh.length);
    left[300] = NaN;
    const runner = createStageRunner(program, 2);
    runner.process([left, right], 0, 600);
    expect([left[300], runner.counters.nonFinite]).toEqual([0, 1]);
    expect(left.slice(301)).toEqual(fresh);
    expect(right).toEqual(clean);
  });

  it('is unity to the bit with everything off', () => {
    const input = noise(500, 3, 1);
    const output = Float64Array.from(input);
    const runner = createStageRunner(programAt(equaliser({}), 48_000), 1);
    runner.process([output], 0, 500);
    expect(output).toEqual(input);
    expect(runner.counters.peakOutputVolts).toBe(input.reduce((peak, volts) => Math.max(peak, Math.abs(volts)), 0));
  });
});
