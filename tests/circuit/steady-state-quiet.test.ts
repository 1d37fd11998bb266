import { describe, expect, it } from 'vitest';
import { buildProgram, measureCircuit } from '../../dsp/circuit/index.ts';
import { documentFile } from '../support/circuits.ts';

const rateHz = 384_000;

function levels(name: string, peakVolts: number): { readonly secondDb: number; readonly higherDb: number } {
  const measured = measureCircuit(buildProgram(documentFile(name), { rateHz, rule: 'T12' }), { frequencyHz: 1000, peakVolts, orders: [2, 6, 7] });
  if (measured.oscillates) throw new Error(`${name} oscillates`);
  const [second, ...higher] = measured.harmonics;
  return { secondDb: second!.db, higherDb: Math.max(...higher.map(({ db }) => db)) };
}

describe('the harmonics of a quiet tone', () => {
  // Of a small signal harmonic n falls by n − 1 dB for each dB of level: the first term of its series in powers of the drive.
  it.each(['common-emitter', 'single-ended-bipolar', 'single-ended-valve'])('of %s are those of its device, not what the coupling capacitors have still to settle', (name) => {
    const loud = levels(name, 1e-2);
    const quiet = levels(name, 1e-4);
    // 0.02 dB: the next term of the series at 10 mV.
    expect(Math.abs(loud.secondDb - 40 - quiet.secondDb) <= 0.02, `H2 ${loud.secondDb} and ${quiet.secondDb} dB`).toBe(true);
    // A ramp of what a period leaves behind has all harmonics, 6 dB an octave apart. Under −170 dB: rounding of some 17 V in capacitors against a tone of 0.1 mV.
    expect(quiet.higherDb).toBeLessThan(-170);
  });
});
