import { describe, expect, it } from 'vitest';
import {
  driveWave, meterMultitone, multitoneDrive, multitoneSignal, thirdOctaves, toneCount, type Metered, type MultitoneReading, type MultitoneSignal,
} from '../../../dsp/measure/tones/index.ts';
import { drivenPeriod, passThrough, type SyntheticDevice } from '../../support/synthetic-device.ts';

function signalAt(rateHz: number): MultitoneSignal {
  const steps = multitoneSignal(rateHz);
  for (let step = steps.next(); ; step = steps.next()) if (step.done) return step.value;
}

function reading(metered: Metered<MultitoneReading>): MultitoneReading {
  if (metered.refusal !== undefined) throw new Error(metered.refusal);
  return metered;
}

const rateHz = 96_000;
const signal = signalAt(rateHz);
const drive = multitoneDrive(signal, 1);
const hertz = signal.cycles.map((cycles) => (cycles * rateHz) / signal.frames);
const readingOf = (device: SyntheticDevice): MultitoneReading => reading(meterMultitone({ samples: drivenPeriod(device, drive), rateHz, repeats: true }, hertz, { onOddLines: true }));

type Line = readonly [line: number, re: number, im: number];

/** Every product of lines with each other, added up where they meet: what a power law makes of a sum of tones, by definition. */
function products(a: readonly Line[], b: readonly Line[]): Line[] {
  const sums = new Map<number, [number, number]>();
  for (const [p, pRe, pIm] of a) {
    for (const [q, qRe, qIm] of b) {
      const [re, im] = sums.get(p + q) ?? [0, 0];
      sums.set(p + q, [re + pRe * qRe - pIm * qIm, im + pRe * qIm + pIm * qRe]);
    }
  }
  return [...sums].map(([line, [re, im]]) => [line, re, im] as const);
}

/** Tones as complex lines of both signs. */
const toneLines: readonly Line[] = drive.lines.flatMap(({ cycles, peakVolts, phaseRadians }) => {
  const [re, im] = [(peakVolts / 2) * Math.cos(phaseRadians), (peakVolts / 2) * Math.sin(phaseRadians)];
  return [[cycles, re, im], [-cycles, re, -im]] as const;
});

/** Mean square of the lines in 20 Hz – 20 kHz where no tone stands. */
function betweenTones(lines: readonly Line[], scale: number): number {
  const tones = new Set(signal.cycles);
  return lines.reduce((sum, [line, re, im]) => {
    const hz = (line * rateHz) / signal.frames;
    return hz >= 20 && hz <= 20_000 && !tones.has(line) ? sum + 2 * scale * scale * (re * re + im * im) : sum;
  }, 0);
}

describe('the multitone', () => {
  it.each([48_000, 96_000, 384_000, 44_100, 352_800])('at %d Hz: 31 tones on odd lines, a third octave apart once lines are dense, from 20 Hz to 20 kHz', (rate) => {
    const { frames, cycles, crest, phases } = signalAt(rate);
    const spacingHz = rate / frames;
    expect(Math.log2(frames) % 1).toBe(0);
    expect(spacingHz <= 6).toBe(true);
    expect(cycles).toHaveLength(toneCount);
    expect(phases).toHaveLength(toneCount);
    cycles.forEach((line, k) => {
      expect(line % 2).toBe(1);
      const wanted = 20 * 1000 ** (k / 30);
      // The nearest odd line, that above an even one: at most a line and a half off; below, where they would meet, the next free one.
      if (wanted > 200) expect(Math.abs(line * spacingHz - wanted) <= 1.5 * spacingHz, `${wanted} Hz`).toBe(true);
      if (k > 0) expect(line).toBeGreaterThan(cycles[k - 1]!);
    });
    // 31 random phases: 3.2 and more in 300 draws.
    expect(crest < 2.6 && crest > Math.SQRT2, `crest ${crest}`).toBe(true);
  });

  it('peaks at what it is said to, and its crest is that of the wave', () => {
    const wave = driveWave(multitoneDrive(signal, 2.5));
    const peak = Math.max(...wave.map(Math.abs));
    expect(Math.abs(peak / 2.5 - 1) <= 1e-9).toBe(true);
    const rms = Math.sqrt(wave.reduce((sum, x) => sum + x * x, 0) / wave.length);
    expect(Math.abs(peak / rms / signal.crest - 1) <= 1e-9).toBe(true);
    expect(signalAt(rateHz)).toBe(signal);
  });

  it('has no place below 40 kHz', () => {
    expect(() => multitoneSignal(32_000).next()).toThrow('expected a rate above 40000 Hz, got 32000 Hz');
  });
});

describe('between the tones of a synthetic device', () => {
  it('of a square law: what the products of all pairs have there, on even lines alone', () => {
    const { betweenMeanSquare, evenDb, oddDb, db, tonesMeanSquare } = readingOf({ coefficients: [0.4, 1, 0.02] });
    const expected = betweenTones(products(toneLines, toneLines), 0.02);
    expect(Math.abs(betweenMeanSquare / expected - 1) <= 1e-9).toBe(true);
    expect(Math.abs(db - 10 * Math.log10(expected / tonesMeanSquare)) <= 1e-6).toBe(true);
    expect(Math.abs(evenDb! - db) <= 1e-9).toBe(true);
    expect(oddDb! < -250).toBe(true);
  });

  it('of a cubic law: what the products of all threes have there, on odd lines alone', () => {
    const { betweenMeanSquare, evenDb, oddDb, db } = readingOf({ coefficients: [0, 1, 0, 0.02] });
    const expected = betweenTones(products(products(toneLines, toneLines), toneLines), 0.02);
    expect(Math.abs(betweenMeanSquare / expected - 1) <= 1e-9).toBe(true);
    expect(Math.abs(oddDb! - db) <= 1e-9).toBe(true);
    expect(evenDb! < -250).toBe(true);
  });

  it('of a straight device: nothing, and third octaves that add up', () => {
    expect(readingOf({ coefficients: [0, -3] }).db < -250).toBe(true);
    const { thirdsMeanSquare, betweenMeanSquare } = readingOf({ coefficients: [0, 1, 0.02, 0.01] });
    expect(thirdsMeanSquare).toHaveLength(thirdOctaves.length);
    // The outermost thirds reach from 17.8 Hz to 22.4 kHz.
    const inside = thirdsMeanSquare.reduce((sum, each) => sum + each, 0);
    expect(inside / betweenMeanSquare >= 1 && inside / betweenMeanSquare < 1.05).toBe(true);
  });

  it('of known noise: its density times the band, in every third octave too', () => {
    const noiseRms = 1e-3;
    const periods = 16;
    const samples = passThrough({ coefficients: [0, 1], noiseRms }, Float64Array.from({ length: periods * signal.frames }, (_, i) => driveWaveOnce[i % signal.frames]!));
    const { betweenMeanSquare, thirdsMeanSquare } = reading(meterMultitone({ samples, rateHz, repeats: false }, hertz));
    const density = (noiseRms * noiseRms) / (rateHz / 2);
    // 0.2 dB: 31 tones cover up to 2 % of the band, and a second of noise is what it is.
    expect(Math.abs(10 * Math.log10(betweenMeanSquare / (density * 19_980))) <= 0.2).toBe(true);
    thirdOctaves.forEach(({ fromHz, toHz, centreHz }, k) => {
      // A third octave at 1 kHz is 230 Hz wide: some hundred independent lines a second.
      if (centreHz > 900) expect(Math.abs(10 * Math.log10(thirdsMeanSquare[k]! / (density * (toHz - fromHz)))) <= 1, `${centreHz} Hz`).toBe(true);
    });
  });
});

const driveWaveOnce = driveWave(drive);

describe('refusals', () => {
  const wave = driveWaveOnce;
  it.each<[string, Float64Array, number | undefined, RegExp]>([
    ['silence', new Float64Array(wave.length), undefined, /^silence/],
    ['DC alone', new Float64Array(wave.length).fill(0.5), undefined, /^DC alone/],
    ['NaN', wave.map((x, i) => (i === 2 ? NaN : x)), undefined, /^sample 2 is NaN/],
    ['infinity', wave.map((x, i) => (i === 2 ? Infinity : x)), undefined, /^sample 2 is Infinity/],
    ['clipped at full scale', wave.map((x) => Math.max(-0.4, Math.min(0.4, x))), 0.4, /^clipped/],
    ['one tone', Float64Array.from(wave, (_, i) => Math.cos((2 * Math.PI * 3 * i) / wave.length)), undefined, /^no tone at [\d.]+ Hz: this is not the multitone/],
  ])('%s: a sentence and no number', (_name, samples, fullScale, sentence) => {
    const answer = meterMultitone({ samples, rateHz, repeats: true, ...(fullScale !== undefined && { fullScale }) }, hertz);
    expect(answer.refusal).toMatch(sentence);
    expect(Object.keys(answer)).toEqual(['refusal']);
  });

  it('too short a stretch, and no tones', () => {
    expect(meterMultitone({ samples: wave.slice(1), rateHz, repeats: false }, hertz).refusal).toMatch(/^too short/);
    expect(meterMultitone({ samples: wave, rateHz, repeats: true }, []).refusal).toMatch(/^no tones were named/);
  });
});
