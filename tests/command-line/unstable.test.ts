import { writeFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import { writeCircuitDocument } from '../../dsp/circuit/index.ts';
import { transconductorPair, unstableOpAmpLoop } from '../support/unstable.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();

it.each([
  ['an op-amp loop with one pole too many', unstableOpAmpLoop(2.8e-9), unstableOpAmpLoop(0.7e-9)], ['a bistable pair', transconductorPair(1500), transconductorPair(900)],
] as const)('measure gives no harmonics of %s, and exit code 1; just below its limit it does', async (_, unstable, stable) => {
  const path = inFolder('circuit.json');
  const options = ['measure', '--circuit', path, '--frequency', '1000', '--peak-volts', '0.1'];
  writeFileSync(path, writeCircuitDocument(unstable));
  const json = await run(...options, '--json');
  expect(json.exitCode).toBe(1);
  const report = JSON.parse(json.stdout) as { oscillates: boolean; spectralRadius: number };
  expect(Object.keys(report)).toEqual(['oscillates', 'spectralRadius']);
  expect(report.oscillates).toBe(true);
  expect(report.spectralRadius).toBeGreaterThan(1);
  const words = await run(...options);
  expect(words.exitCode).toBe(1);
  expect(words.stdout).not.toMatch(/H2|THD/);
  writeFileSync(path, writeCircuitDocument(stable));
  const sound = await run(...options, '--json');
  expect(sound.exitCode).toBe(0);
  expect((JSON.parse(sound.stdout) as { harmonics: unknown[] }).harmonics).toHaveLength(8);
});
