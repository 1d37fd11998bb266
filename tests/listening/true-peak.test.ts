import { describe, expect, it } from 'vitest';
import { measureLoudness, TruePeakMeter } from '../../dsp/listening/index.ts';
import { check, expectWithin, numberInput } from '../reference/checks.ts';

const sine = (amplitude: number, cyclesPerSample: number, phaseDegrees: number, frames: number): Float64Array =>
  Float64Array.from({ length: frames }, (_, i) => amplitude * Math.sin(2 * Math.PI * cyclesPerSample * i + (phaseDegrees * Math.PI) / 180));

/** Reading of a long sine whose beginning and end are faded, so that only the sine itself is read. */
function steadyReadingDb(cyclesPerSample: number, phaseDegrees: number): number {
  const frames = 600;
  const signal = sine(1, cyclesPerSample, phaseDegrees, frames).map((value, i) => value * Math.min(1, i / 150, (frames - 1 - i) / 150));
  return measureLoudness([signal], 48_000).truePeakDb;
}

describe('true peak', () => {
  it.each([15, 16, 17, 18, 19])('EBU-TP-%d', (number) => {
    const reference = check(`EBU-TP-${number}`);
    const signal = sine(numberInput(reference, 'amplitude'), 1 / numberInput(reference, 'div'), numberInput(reference, 'phase_deg'), 4_800);
    // The signals begin and end in full swing; what such an edge overshoots by is theirs, so the middle is read.
    const meter = new TruePeakMeter(1);
    meter.push([signal.map((value, i) => value * Math.min(1, i / 480, (4_799 - i) / 480))], 0, 4_800);
    expectWithin(reference, meter.truePeakDb);
  });

  it('TP-SAMPLEPEAK-16: the samples alone read 3 dB less', () => {
    const reference = check('TP-SAMPLEPEAK-16');
    expectWithin(reference, measureLoudness([sine(0.5, 1 / 4, 45, 4_800)], 48_000).samplePeakDb);
  });

  it('reads sines up to 0.4 of the rate within −0.45 and +0.01 dB at every phase', () => {
    // Whole numbers of samples a period (or two periods) keep a crest at the same distance from a sample; the others pass through all distances.
    const frequencies = [1 / 3, 1 / 4, 1 / 5, 2 / 5, 1 / 6, 1 / 8, ...Array.from({ length: 38 }, (_, i) => 0.01 + 0.0103 * i)];
    for (const cyclesPerSample of frequencies) {
      // A crest is at most an eighth of a sample from an instant looked at; 0.01 dB: ripple of the interpolator.
      const lowest = 20 * Math.log10(Math.cos((2 * Math.PI * cyclesPerSample) / 8)) - 0.01;
      for (let phaseDegrees = 0; phaseDegrees < 180; phaseDegrees += 7.5) {
        const reading = steadyReadingDb(cyclesPerSample, phaseDegrees);
        if (!(reading <= 0.01 && reading >= lowest)) throw new Error(`${cyclesPerSample} of the rate, ${phaseDegrees}°: ${reading} dB, expected ${lowest} … 0.01`);
      }
    }
  });

  it('takes the largest channel and looks beyond the last sample', () => {
    const quiet = sine(0.1, 1 / 16, 0, 200);
    const loud = sine(0.5, 1 / 16, 0, 200);
    expect(measureLoudness([quiet, loud], 48_000).truePeakDb).toBe(measureLoudness([loud], 48_000).truePeakDb);
    // Two equal samples at the very end: the band-limited crest between them is 4/π of their height (sinc at ± 1/2).
    const atEnd = new Float64Array(50);
    atEnd[48] = 1;
    atEnd[49] = 1;
    const reading = measureLoudness([atEnd], 48_000).truePeakDb;
    const expected = 20 * Math.log10(4 / Math.PI);
    // 0.1 dB: the window takes a little from the sinc half a sample off its middle.
    expect(Math.abs(reading - expected) <= 0.1, `${reading} dB, expected ${expected}`).toBe(true);
  });

  it('reads the same however the signal is cut, and shows what is not a number', () => {
    const signal = sine(0.7, 0.237, 20, 300);
    const whole = new TruePeakMeter(1);
    whole.push([signal], 0, 300);
    const cut = new TruePeakMeter(1);
    for (let at = 0; at < 300; at += 7) cut.push([signal], at, Math.min(7, 300 - at));
    expect(cut.peakRatio).toBe(whole.peakRatio);
    cut.push([Float64Array.of(NaN)], 0, 1);
    expect(cut.peakRatio).toBe(NaN);
  });
});
