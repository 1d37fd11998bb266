/** Values changed ten times a second under a steady tone: what is heard beside it. */
import { describe, expect, it } from 'vitest';
import type { PathEvent, PathSetting } from '../../dsp/path/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { nominalPeak, pathOf, planOf, rateHz, renderInPieces, sine, toDb } from './support.ts';

/** Not a divisor of the rate of changes: they land on every phase of the tone. */
const toneHz = 997;
const windowFrames = 65_536;
/** Changes begin here, so that the path has settled; the window that is judged lies inside them. */
const changesFrom = 24_000;
const windowFrom = 33_600;
const frames = windowFrom + windowFrames;
const changeEvery = rateHz / 10;

/** Level of every bin relative to the tone, four-term Blackman–Harris window (side lobes −92 dB; F. J. Harris 1978). */
function spectrumDb(signal: Float64Array): Float64Array {
  const real = new Float64Array(windowFrames);
  const imaginary = new Float64Array(windowFrames);
  for (let i = 0; i < windowFrames; i += 1) {
    const t = (2 * Math.PI * i) / windowFrames;
    real[i] = signal[windowFrom + i]! * (0.35875 - 0.48829 * Math.cos(t) + 0.14128 * Math.cos(2 * t) - 0.01168 * Math.cos(3 * t));
  }
  transform(real, imaginary);
  const half = windowFrames / 2;
  const levels = Float64Array.from({ length: half }, (_, k) => Math.hypot(real[k]!, imaginary[k]!));
  const tone = levels.reduce((most, level) => Math.max(most, level), 0);
  return levels.map((level) => toDb(level / tone));
}

/** Plain radix-2 transform in place, independent of the code under test. */
function transform(real: Float64Array, imaginary: Float64Array): void {
  const n = real.length;
  for (let i = 1, j = 0; i < n; i += 1) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) {
      [real[i], real[j]] = [real[j]!, real[i]!];
      [imaginary[i], imaginary[j]] = [imaginary[j]!, imaginary[i]!];
    }
  }
  for (let length = 2; length <= n; length *= 2) {
    for (let k = 0; k < length / 2; k += 1) {
      const angle = (-2 * Math.PI * k) / length;
      const c = Math.cos(angle);
      const s = Math.sin(angle);
      for (let i = k; i < n; i += length) {
        const j = i + length / 2;
        const re = real[j]! * c - imaginary[j]! * s;
        const im = real[j]! * s + imaginary[j]! * c;
        real[j] = real[i]! - re;
        imaginary[j] = imaginary[i]! - im;
        real[i] = real[i]! + re;
        imaginary[i] = imaginary[i]! + im;
      }
    }
  }
}

/** Loudest bin farther than 200 Hz from the tone and all its harmonics, 20 Hz to 20 kHz. */
function loudestBeside(levels: Float64Array): { readonly db: number; readonly hz: number } {
  const binHz = rateHz / windowFrames;
  let loudest = { db: -Infinity, hz: 0 };
  for (let k = Math.ceil(20 / binHz); k * binHz < 20_000; k += 1) {
    const hz = k * binHz;
    const fromHarmonic = Math.abs(hz - toneHz * Math.max(1, Math.round(hz / toneHz)));
    if (fromHarmonic > 200 && levels[k]! > loudest.db) loudest = { db: levels[k]!, hz };
  }
  return loudest;
}

function render(settings: readonly PathSetting[], every: number): Float64Array {
  const plans = settings.map((setting) => planOf(setting));
  const events: PathEvent[] = [];
  for (let frame = changesFrom, k = 1; frame < frames; frame += every, k += 1) events.push({ frame, plan: plans[k % plans.length]! });
  return renderInPieces(plans[0]!, sine(toneHz, nominalPeak, frames), [1024], { events });
}

interface Dial {
  readonly name: string;
  readonly stage: string;
  readonly values: readonly StageValues[];
}

/** Steps of a hasty hand: two to eight values of the E24 series at once. */
const dials: readonly Dial[] = [
  { name: 'a collector resistor', stage: 'single-ended-bipolar', values: [{ collectorOhms: 2200 }, { collectorOhms: 2700 }] },
  { name: 'a full coupling capacitor', stage: 'single-ended-bipolar', values: [{ inputCouplingFarads: 22e-6 }, { inputCouplingFarads: 10e-6 }] },
  { name: 'a full bypass capacitor', stage: 'single-ended-bipolar', values: [{ bypassFarads: 1e-3 }, { bypassFarads: 0.47e-3 }] },
  { name: 'the bias divider behind a full coupling capacitor', stage: 'single-ended-bipolar', values: [{ lowerDividerOhms: 9100 }, { lowerDividerOhms: 10_000 }] },
  { name: 'the supply', stage: 'single-ended-bipolar', values: [{ supplyVolts: 24 }, { supplyVolts: 26 }] },
  { name: 'the quiescent current', stage: 'push-pull', values: [{ quiescentAmperes: 1e-3 }, { quiescentAmperes: 2.6e-3 }] },
];

describe('dialling ten times a second under a 1 kHz tone at +4 dBu', () => {
  it.each(dials)('$name: nothing above −80 dB beside the tone and its harmonics', ({ stage, values }) => {
    const settings = values.map((given) => pathOf([{ stage, values: given }], { oversamplingFactor: 4 }));
    const changed = loudestBeside(spectrumDb(render(settings, changeEvery)));
    expect(changed.db <= -80, `${changed.db.toFixed(1)} dB at ${changed.hz.toFixed(0)} Hz`).toBe(true);
  });

  it('would hear a change of 5 % without a fade', () => {
    const step = sine(toneHz, 1, frames).map((sample, i) => sample * (Math.floor(i / changeEvery) % 2 === 0 ? 1 : 1.05));
    expect(loudestBeside(spectrumDb(step)).db).toBeGreaterThan(-75);
  });

  it('leaves the next stage, which holds the coupling capacitor of the one that changes, as quiet', () => {
    const settings = [2200, 2700].map((collectorOhms) => pathOf([
      { stage: 'single-ended-bipolar', values: { collectorOhms } }, 'single-ended-field-effect',
    ], { oversamplingFactor: 4 }));
    const changed = loudestBeside(spectrumDb(render(settings, changeEvery)));
    expect(changed.db <= -80, `${changed.db.toFixed(1)} dB at ${changed.hz.toFixed(0)} Hz`).toBe(true);
  });
});
