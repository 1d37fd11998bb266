/** The cheapest settings of the simulator that give H2–H5 of each circuit within the limit at both levels: every method and tolerance with the longest step that suffices, the quickest of them kept. */
import { writeFileSync } from 'node:fs';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import { benchCircuits } from './circuits.ts';
import { median } from './median.ts';
import { judgedTones, SimulatedCircuit } from './simulator.ts';
import type { SimulatorSettings } from './simulator.ts';
import { limitDb } from './simulator-ratio.ts';

const methods = ['trap', 'gear'] as const;
const tolerances = [1e-3, 1e-4, 1e-5];
/** Half an octave from one to the next: 16 … 16384. */
const steps = Array.from({ length: 21 }, (_, k) => Math.round(16 * 2 ** (k / 2)));

installCompiledCode();
const found: { circuit: string; frequencyHz: number; errorDb: number; settings: SimulatorSettings }[] = [];
for (const circuit of Object.values(benchCircuits)) {
  for (const frequencyHz of [1000, 10_000]) {
    const levels = judgedTones(circuit, frequencyHz).map((tone) => new SimulatedCircuit(tone));
    const candidates = methods.flatMap((method) => tolerances.flatMap((tolerance) => {
      for (const stepsPerPeriod of steps) {
        const settings = { method, tolerance, stepsPerPeriod };
        const errorDb = largestOf(levels, settings);
        if (errorDb <= limitDb) return [{ settings, errorDb, seconds: median([0, 1, 2].map(() => levels[1]!.secondsPerSecond(settings, 100))) }];
      }
      return [];
    }));
    const [best] = candidates.sort((a, b) => a.seconds - b.seconds);
    for (const { settings, errorDb, seconds } of candidates) console.log(`${circuit.name}, ${frequencyHz} Hz: ${JSON.stringify(settings)} ${errorDb.toFixed(4)} dB, ${seconds.toFixed(2)} s/s`);
    if (best !== undefined) found.push({ circuit: circuit.name, frequencyHz, errorDb: Number(best.errorDb.toPrecision(3)), settings: best.settings });
  }
}
writeFileSync('tests/bench/simulator-settings.json', `[\n${found.map((entry) => `  ${JSON.stringify(entry)}`).join(',\n')}\n]\n`);

/** Stops at the first level that is beyond the limit. */
function largestOf(levels: readonly SimulatedCircuit[], settings: SimulatorSettings): number {
  let largest = 0;
  for (const level of levels) {
    largest = Math.max(largest, level.errorDb(settings));
    if (!(largest <= limitDb)) break;
  }
  return largest;
}
