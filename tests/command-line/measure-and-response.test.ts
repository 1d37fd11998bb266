import { writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { openingSetting, writeSetting } from '../../dsp/setting/index.ts';
import { check, expectWithin } from '../reference/checks.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();

/** The documented example: gm RE = T, biased by a voltage; 300 K. */
function commonEmitter(degeneration: number, currentAmperes = 0.001): string {
  const thermalVolts = (1.380649e-23 * 300) / 1.602176634e-19;
  const emitterOhms = (degeneration * thermalVolts) / currentAmperes;
  const path = inFolder(`common-emitter-${degeneration}.json`);
  writeFileSync(path, JSON.stringify({
    format: 'stagebench/circuit', version: 1, title: 'common emitter, degenerated', temperatureC: 26.85,
    components: [
      { kind: 'input', name: 'IN', between: ['b', 'ground'], biasVolts: thermalVolts * Math.log(currentAmperes / 1e-16) + currentAmperes * emitterOhms },
      { kind: 'bipolar', name: 'Q1', polarity: 'npn', collector: 'c', base: 'b', emitter: 'e', saturationAmperes: 1e-16, forwardBeta: 1e12, reverseBeta: 1, earlyVolts: null },
      { kind: 'resistor', name: 'RE', between: ['e', 'ground'], ohms: Math.max(emitterOhms, 1e-9) },
      { kind: 'resistor', name: 'RC', between: ['vp', 'c'], ohms: 1 },
      { kind: 'voltage-source', name: 'VP', between: ['vp', 'ground'], volts: 10 },
    ],
    output: ['c', 'ground'],
  }));
  return path;
}

describe('stagebench measure', () => {
  it.each(['CE-T0.5-p0.5', 'CE-T10-p0.5'])('%s from a circuit document: signed H2 to H5', async (id) => {
    const reference = check(id);
    const { T, x } = reference.inputs as { T: number; x: number };
    const peakVolts = (x * 1.380649e-23 * 300) / 1.602176634e-19;
    const { exitCode, stdout } = await run('measure', '--circuit', commonEmitter(T), '--frequency', '1000', '--peak-volts', String(peakVolts), '--orders', '2-5', '--json');
    expect(exitCode).toBe(0);
    const report = JSON.parse(stdout) as { harmonics: { order: number; signedRatio: number }[]; solver: { method: string } };
    expect(report.harmonics.map(({ order }) => order)).toEqual([2, 3, 4, 5]);
    expect(report.solver.method).toBe('shooting');
    expectWithin(reference, report.harmonics.map(({ signedRatio }) => signedRatio));
  });

  it('gives the fields of the documented form', async () => {
    const { stdout } = await run('measure', '--circuit', commonEmitter(2), '--frequency', '1000', '--peak-volts', '0.02', '--json');
    const report = JSON.parse(stdout) as object;
    expect(Object.keys(report)).toEqual(['frequencyHz', 'fundamental', 'dcVolts', 'restVolts', 'harmonics', 'thd', 'solver']);
  });

  it('tells the rule it measured with, and what it is off by at 10 kHz', async () => {
    const { stdout } = await run('measure', '--circuit', commonEmitter(2), '--frequency', '1000', '--peak-volts', '0.02', '--json');
    const { solver } = JSON.parse(stdout) as { solver: { rule: string; ruleErrorDb: number; ruleLimitDb: number } };
    expect(['T1', 'T12', 'T24']).toContain(solver.rule);
    // The measuring grade's limits at nominal level and where it clips.
    expect([0.005, 0.01]).toContain(solver.ruleLimitDb);
    expect(solver.rule === 'T24' || solver.ruleErrorDb <= solver.ruleLimitDb).toBe(true);
    expect((await run('measure', '--circuit', commonEmitter(2), '--frequency', '1000', '--peak-volts', '0.02')).stdout)
      .toMatch(/^shooting, integrated as T\d+, error at 10 kHz .+ dB, spectral radius /m);
  });

  it('measures a setting and words the orders', async () => {
    const path = inFolder('opening.json');
    writeFileSync(path, writeSetting(openingSetting()));
    const { exitCode, stdout } = await run('measure', '--setting', path, '--frequency', '200', '--peak-volts', '1.736');
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/^H5 .*harsh$/m);
    expect(stdout).not.toMatch(/^H2 .*harsh$/m);
  });

  it('gives no harmonics for a circuit that oscillates, and exit code 1', async () => {
    const path = inFolder('oscillator.json');
    // A series tank kept going by a transconductor that overcomes its losses.
    writeFileSync(path, JSON.stringify({
      format: 'stagebench/circuit', version: 1, title: 'oscillator',
      components: [
        { kind: 'input', name: 'IN', between: ['in', 'ground'] },
        { kind: 'resistor', name: 'RIN', between: ['in', 'tank'], ohms: 1e6 },
        { kind: 'inductor', name: 'L', between: ['tank', 'ground'], henries: 0.1 },
        { kind: 'capacitor', name: 'C', between: ['tank', 'ground'], farads: 1e-7 },
        { kind: 'resistor', name: 'R', between: ['tank', 'ground'], ohms: 10_000 },
        { kind: 'tanh-transconductor', name: 'G', out: ['tank', 'ground'], in: ['tank', 'ground'], maxAmperes: 0.001, scaleVolts: 1 },
      ],
      output: ['tank', 'ground'],
    }));
    const { exitCode, stdout } = await run('measure', '--circuit', path, '--frequency', '1000', '--peak-volts', '0.01', '--json');
    expect(exitCode).toBe(1);
    const report = JSON.parse(stdout) as { oscillates: boolean; spectralRadius: number };
    expect(Object.keys(report)).toEqual(['oscillates', 'spectralRadius']);
    expect(report.oscillates).toBe(true);
    expect(report.spectralRadius).toBeGreaterThanOrEqual(1);
  });
});

describe('stagebench response', () => {
  it('gives a first-order corner exactly, and close to it as discretised', async () => {
    const path = inFolder('corner.json');
    writeFileSync(path, JSON.stringify({
      format: 'stagebench/circuit', version: 1, title: 'corner',
      components: [
        { kind: 'input', name: 'IN', between: ['in', 'ground'] },
        { kind: 'resistor', name: 'R', between: ['in', 'out'], ohms: 1000 },
        { kind: 'capacitor', name: 'C', between: ['out', 'ground'], farads: 1 / (2 * Math.PI * 1e6) },
      ],
      output: ['out', 'ground'],
    }));
    const exact = JSON.parse((await run('response', '--circuit', path, '--frequencies', '1000', '--exact', '--json')).stdout) as { points: { hz: number; db: number; phaseDegrees: number }[] };
    expect(exact.points[0]!.hz).toBe(1000);
    expect(exact.points[0]!.db).toBeCloseTo(-10 * Math.log10(2), 10);
    expect(exact.points[0]!.phaseDegrees).toBeCloseTo(-45, 10);
    const discrete = JSON.parse((await run('response', '--circuit', path, '--frequencies', '1000', '--json')).stdout) as typeof exact;
    // Trapezoidal warping of 1 kHz at 384 kHz: (w h)²/12 = 2.2e-5 of frequency, 1e-4 dB.
    expect(!(Math.abs(discrete.points[0]!.db - exact.points[0]!.db) <= 2e-4)).toBe(false);
    expect(discrete.points[0]!.db).not.toBe(exact.points[0]!.db);
  });
});

describe('bad input', () => {
  const cases: [args: string[], sentence: RegExp][] = [
    [[], /^$/],
    [['listen'], /^stagebench: expected one of measure, response, (?:[a-z-]+, )+got listen; see stagebench --help\n$/],
    [['measure', '--frequency', '1000', '--peak-volts', '1'], /^stagebench: measure: expected either --circuit FILE or --setting FILE, got neither\n$/],
    [['measure', '--circuit', inFolder('nowhere.json'), '--frequency', '1000', '--peak-volts', '1'], /^stagebench: .*nowhere\.json: expected a file, found none\n$/],
    [['measure', '--circuit', commonEmitter(1), '--frequency', 'fast', '--peak-volts', '1'], /^stagebench: --frequency: expected a number from 0.1 to 96000, got fast\n$/],
    [['measure', '--circuit', commonEmitter(1), '--frequency', '1000', '--peak-volts', '1', '--orders', '1-3'], /^stagebench: --orders: expected orders from 2 to 50/],
    [['measure', '--circuit', commonEmitter(1), '--frequency', '1000', '--peak-volts', '1', '--oversampling', '3'], /^stagebench: --oversampling: expected one of 1, 2, 4, 8, 16, got 3\n$/],
    [['response', '--circuit', commonEmitter(1), '--frequencies', '20,,30'], /^stagebench: --frequencies: expected a number/],
    [['measure', '--loud'], /^stagebench: measure: .*--loud/],
  ];
  it.each(cases)('%j: one sentence, exit code 2', async (args, sentence) => {
    const { exitCode, stderr } = await run(...args);
    expect(exitCode).toBe(2);
    expect(stderr).toMatch(sentence);
  });
});

describe('stagebench measure --through-ladder', () => {
  it('agrees with the stages alone within the ladder\'s ripple, above −100 dB', async () => {
    const path = inFolder('through.json');
    writeFileSync(path, writeSetting(openingSetting()));
    type Report = { fundamental: { peakVolts: number }; harmonics: { order: number; db: number; phaseDegrees: number }[] };
    const measured = async (...more: string[]) => JSON.parse((await run('measure', '--setting', path, '--frequency', '1000', '--peak-volts', '1.736', '--json', ...more)).stdout) as Report;
    const plain = await measured();
    const through = await measured('--through-ladder');
    expect(through.harmonics.map(({ order }) => order)).toEqual(plain.harmonics.map(({ order }) => order));
    for (const [index, { db, phaseDegrees }] of plain.harmonics.entries()) {
      if (db < -100) continue;
      // 0.1 dB: the bound of the whole chain; the ladder's own ripple is 1e-5 dB.
      expect(!(Math.abs(through.harmonics[index]!.db - db) <= 0.1)).toBe(false);
      const turn = Math.abs(through.harmonics[index]!.phaseDegrees - phaseDegrees);
      expect(Math.min(turn, 360 - turn)).toBeLessThan(1);
    }
  });

  it('leaves out orders that the base rate cannot hold, and refuses a circuit document', async () => {
    const path = inFolder('high.json');
    writeFileSync(path, writeSetting(openingSetting()));
    const { stdout } = await run('measure', '--setting', path, '--frequency', '9000', '--peak-volts', '1', '--through-ladder', '--json');
    expect((JSON.parse(stdout) as { harmonics: { order: number }[] }).harmonics.map(({ order }) => order)).toEqual([2]);
    const refused = await run('measure', '--circuit', commonEmitter(1), '--frequency', '1000', '--peak-volts', '1', '--through-ladder');
    expect(refused.exitCode).toBe(2);
  });
});
