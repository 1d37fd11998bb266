import { describe, expect, it } from 'vitest';
import { MonitorLimiter } from '../../worklets/audio/monitor-limiter.ts';
import { LoadMeter } from '../../worklets/audio/load-meter.ts';
import { MeterRingReader, meterRingBytes, MeterRingWriter } from '../../worklets/meter-ring.ts';

describe('the monitor limiter', () => {
  const ceiling = 10 ** (-1 / 20);

  it('lets nothing above −1 dBFS pass, from the first sample on', () => {
    const limiter = new MonitorLimiter(48_000);
    for (let i = 0; i < 48_000; i += 1) {
      const sample = 4 * Math.abs(Math.sin(i * 0.07)) * (i % 7);
      expect(limiter.gainFor(sample) * sample).toBeLessThanOrEqual(ceiling * (1 + 1e-15));
    }
  });

  it('leaves alone what is below, and comes back to exactly 1', () => {
    const limiter = new MonitorLimiter(48_000);
    expect(limiter.gainFor(0.89)).toBe(1);
    limiter.gainFor(2);
    expect(limiter.takeSmallest()).toBeLessThan(0.5);
    for (let i = 0; i < 5 * 48_000; i += 1) limiter.gainFor(0.1);
    expect(limiter.gainFor(0.1)).toBe(1);
    limiter.takeSmallest();
    expect(limiter.takeSmallest()).toBe(1);
  });
});

describe('the meter ring', () => {
  const line = { positionFrame: 0, peakLeft: 0, peakRight: 0, limiterGain: 1, load: 0, lateBlocks: 0, meanEvaluations: 0, rescues: 0, capHits: 0, nonFinite: 0, pathFrame: 0 };

  it('gives the largest peaks and the newest figures since the last reading, and then nothing', () => {
    const memory = new SharedArrayBuffer(meterRingBytes);
    const writer = new MeterRingWriter(memory);
    const reader = new MeterRingReader(memory);
    expect(reader.read()).toBeNull();
    writer.write({ ...line, positionFrame: 1, peakLeft: 0.5, limiterGain: 0.7 });
    writer.write({ ...line, positionFrame: 2, peakRight: 0.2, rescues: 3, nonFinite: 1 });
    expect(reader.read()).toEqual({ ...line, positionFrame: 2, peakLeft: 0.5, peakRight: 0.2, limiterGain: 0.7, rescues: 3, nonFinite: 1 });
    expect(reader.read()).toBeNull();
  });

  it('survives a reader that sleeps', () => {
    const memory = new SharedArrayBuffer(meterRingBytes);
    const writer = new MeterRingWriter(memory);
    const reader = new MeterRingReader(memory);
    for (let k = 1; k <= 1000; k += 1) writer.write({ ...line, positionFrame: k, peakLeft: k === 3 ? 1 : 0.1 });
    const read = reader.read()!;
    expect(read.positionFrame).toBe(1000);
    expect(read.peakLeft).toBe(0.1);
  });
});

describe('the load meter', () => {
  it('sees no late block in a steady run', () => {
    const meter = new LoadMeter();
    for (let block = 0; block < 1000; block += 1) {
      meter.begin();
      // The sample clock follows the wall clock: nothing is lost.
      meter.end(128, 48_000, Date.now() / 1000);
    }
    expect(meter.lateBlocks).toBe(0);
    expect(meter.load).toBeLessThan(1);
  });

  it('counts what is lost when the sample clock stands still', () => {
    const meter = new LoadMeter();
    const lostSeconds = 0.1;
    for (let block = 0; block < 512; block += 1) {
      meter.begin();
      meter.end(128, 48_000, Date.now() / 1000 - (block < 256 ? 0 : lostSeconds));
    }
    // 0.1 s are 37.5 blocks of 128; the clock counts whole milliseconds.
    expect(Math.abs(meter.lateBlocks - 37.5) <= 3).toBe(true);
  });
});
