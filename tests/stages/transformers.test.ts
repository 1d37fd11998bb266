/**
 * Transformers and what stands behind them, through the stages' circuits. Expected figures were made by hand and with a general-purpose circuit simulator, not by this bench; they are printed to one or two
 * decimals, so half of the last printed digit is added to the tolerance.
 */
import { describe, expect, it } from 'vitest';
import { assembleCircuit, chooseFrequency, cosineDrive, exactResponse, findOperatingPoint, harmonicFigures, inputImpedance, outputImpedance, solveSteadyState } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { dbuToPeakVolts, defaultValues, lineLengthsForPeak, resolveValues, resonantPeak, stageById, upperCornerHz } from '../../dsp/stages/index.ts';
import type { OutputNetwork, StageReading, StageValues } from '../../dsp/stages/index.ts';
import { ladderGainDb, ladderResponse } from '../../dsp/stages/shared/ladder.ts';
import { rayleighLoop, rayleighOf, saturationFlux } from '../../dsp/stages/shared/transformer-core.ts';
import { ladder as inputLadder } from '../../dsp/stages/transformer-input/circuit.ts';
import { ladder as lineLadder } from '../../dsp/stages/line/circuit.ts';
import { ladder as outputLadder } from '../../dsp/stages/transformer-output/circuit.ts';
import { checksOf, numberInput } from '../reference/checks.ts';
import { terminalGroups } from './support/read-drawing.ts';
import { programOf } from './support/tone.ts';
import { wiredVariants } from './support/variants.ts';

const ladders = { 'transformer-output': outputLadder, 'transformer-input': inputLadder, line: lineLadder } as const;
type Id = keyof typeof ladders;

const valuesOf = (id: Id, given: StageValues): StageValues => ({ ...defaultValues(stageById(id)), ...given });

interface Response {
  db(hz: number): number;
  amperesPerVolt(hz: number): number;
}

function responseOf(document: CircuitDocument): Response {
  const system = assembleCircuit(document);
  const point = findOperatingPoint(system);
  return {
    db: (hz) => { const [h] = exactResponse(system, point, [hz]); return 20 * Math.log10(Math.hypot(h!.re, h!.im)); },
    amperesPerVolt: (hz) => { const [z] = inputImpedance(system, point, [hz]); return 1 / Math.hypot(z!.re, z!.im); },
  };
}

const through = (id: Id, given: StageValues): Response => responseOf(stageById(id).circuit(valuesOf(id, given), null)!);

function expectNear(actual: number, expected: number, limit: number, what: string): void {
  const error = Math.abs(actual - expected);
  if (!(error <= limit)) throw new Error(`${what}: expected ${expected}, got ${actual}, error ${error}, limit ${limit}`);
}

const readingsOf = (id: Id, given: StageValues = {}): readonly StageReading[] => stageById(id).report(valuesOf(id, given), programOf(id, given)).readings;
const reading = (id: Id, label: string, given: StageValues = {}): StageReading => readingsOf(id, given).find((candidate) => candidate.label === label)!;

describe('the output transformer and its line', () => {
  it.each([
    [3, 'off', 11.2, 138e3, 0.2], [30, 'off', 8.5, 77e3, 0.5], [100, 'off', 5.1, 44e3, 1.3], [300, 'off', 1.58, 21.4e3, 1.55],
    [3, 'on', 1.0, 54e3, null], [30, 'on', 2.2, 52e3, null], [100, 'on', 2.4, 35e3, null], [300, 'on', 0.9, 18e3, null],
  ] as const)('%d m, damper %s, peaks %d dB at %d Hz, %d dB at 20 kHz', (lineMetres, damper, peakDb, peakHz, at20kHzDb) => {
    const { db } = through('transformer-output', { lineMetres, damper });
    const peak = resonantPeak(db)!;
    const printed = lineMetres === 300 && damper === 'off' ? 0.005 : 0.05;
    expectNear(peak.db, peakDb, 0.02 + printed, 'peak, dB');
    expectNear(peak.hz, peakHz, 0.005 * peakHz + (lineMetres === 300 && damper === 'off' ? 50 : 500), 'peak, Hz');
    if (at20kHzDb !== null) expectNear(db(20e3) - db(1000), at20kHzDb, 0.02 + printed, '20 kHz, dB');
  });

  it('loses 0.14 dB, 0.04 dB more at 20 Hz, and ends at 37 kHz with 300 m', () => {
    const { db } = through('transformer-output', { lineMetres: 300, damper: 'off' });
    expectNear(db(1000), -0.14, 0.005, 'loss, dB');
    expectNear(db(20) - db(1000), -0.04, 0.005, '20 Hz, dB');
    expectNear(upperCornerHz(db)!, 37e3, 600, 'corner, Hz');
  });

  it('into 600 Ω loses 2.2 dB and rises 0.64 dB at 20 kHz', () => {
    const { db } = through('transformer-output', { lineMetres: 300, damper: 'off', buildOutOhms: 75, loadOhms: 600 });
    expectNear(db(1000), -2.2, 0.05, 'loss, dB');
    expectNear(db(20e3) - db(1000), 0.64, 0.015, '20 kHz, dB');
  });

  it('lists every length that gives 1.5 dB', () => {
    const lengths = (given: StageValues) => lineLengthsForPeak((metres) => outputLadder(valuesOf('transformer-output', given), metres), 1.5);
    // Undamped into a bridging load one answer; two into 600 Ω, or with the damper. The peak is flat in the length at the longer ones: 1 %.
    for (const [given, expected] of [
      [{ damper: 'off' }, [306]], [{ damper: 'off', buildOutOhms: 75, loadOhms: 600 }, [63, 113]], [{ damper: 'on' }, [11, 209]],
    ] as const) {
      const found = lengths(given);
      expect(found.map(({ metres }) => metres)).toHaveLength(expected.length);
      expected.forEach((metres, k) => expectNear(found[k]!.metres, metres, 0.5 + 0.008 * metres, 'length, m'));
      for (const { metres, heard, peakHz, gainAt20kHzDb } of found) {
        const { db } = through('transformer-output', { ...given, lineMetres: metres });
        const peak = resonantPeak(db)!;
        expectNear(peak.db, 1.5, 0.002, 'peak, dB');
        expectNear(peak.hz, peakHz, 1e-3 * peakHz, 'peak, Hz');
        expectNear(db(20e3) - db(1000), gainAt20kHzDb, 0.002, '20 kHz, dB');
        expect(heard).toBe(peak.hz < 30e3);
      }
    }
  });

  it('peaks inside the band with 1 mH of leakage, and hardly with the 30 µH of bifilar windings', () => {
    expect(resonantPeak(through('transformer-output', { lineMetres: 300, damper: 'off', leakageHenries: 30e-6 }).db)?.db ?? 0).toBeLessThan(0.01);
  });

  it('says so in its readings and in words', () => {
    const given = { lineMetres: 300, damper: 'off' };
    expectNear(reading('transformer-output', 'resonant peak', given).value, 1.58, 0.025, 'peak, dB');
    expectNear(reading('transformer-output', 'driver current', given).value, 0.080, 0.0005, 'driver current, A');
    expectNear(reading('transformer-output', 'driver current', { ...given, damper: 'on' }).value, 0.083, 0.0005, 'driver current, A');
    expectNear(reading('transformer-output', 'line for the wanted peak, 2', { damper: 'on' }).value, 209, 2.2, 'second length, m');
    const words = (wanted: StageValues) => stageById('transformer-output').report(valuesOf('transformer-output', wanted), programOf('transformer-output', wanted)).remarks.find(({ label }) => label.startsWith('peak of'))!.words;
    expect(words({})).toMatch(/^prefer 20\d m: /);
    expect(words({ wantedPeakDb: 12, damper: 'on' })).toBe('no line length from 0.5 m to 3 km gives it');
    expect(words({ wantedPeakDb: 9, damper: 'off' })).toBe('every length puts it above 30 kHz');
  });
});

/** Harmonics in dB by order of a steady tone through the stage at the base rate, which is fine enough for what a core does. */
function coreTone(id: Id, given: StageValues, hz: number, dbu: number): Readonly<Record<number, number>> {
  const program = stageById(id).program(valuesOf(id, given), { rateHz: 48_000, source: null });
  if (program.kind !== 'circuit') throw new Error('expected a circuit');
  const frequency = chooseFrequency(hz, 48_000);
  const steady = solveSteadyState(program.circuit, { input: cosineDrive(frequency, dbuToPeakVolts(dbu)), cycles: frequency.cycles }, { wantSpectralRadius: false });
  expect(steady.oscillates).toBe(false);
  return Object.fromEntries(harmonicFigures(steady.output, frequency.cycles, [2, 3, 5, 7]).harmonics.map(({ order, db }) => [order, db]));
}

describe('the output transformer’s core', () => {
  it.each([[20, -59], [50, -72], [1000, -122]] as const)('at +4 dBu and %d Hz: H3 %d dB, H5 16 to 17 dB lower, nothing even', (hz, third) => {
    const tone = coreTone('transformer-output', {}, hz, 4);
    expectNear(tone[3]!, third, 0.5, 'H3, dB');
    expectNear(tone[3]! - tone[5]!, 16.5, 0.5, 'H3 to H5, dB');
    expect(tone[2]!).toBeLessThan(-150);
  });

  it('rises 1 dB a dB and falls 12 dB an octave while small', () => {
    const at = (hz: number, dbu: number): number => coreTone('transformer-output', {}, hz, dbu)[3]!;
    expectNear(at(100, -20) - at(100, -26), 6, 0.1, 'a halving of the level, dB');
    expectNear(at(100, -20) - at(200, -20), 12.04, 0.1, 'an octave, dB');
  });

  it('saturates at +27 dBu and 20 Hz, and is odd-symmetric until it carries direct current', () => {
    const at = (dbu: number): number => coreTone('transformer-output', {}, 20, dbu)[3]!;
    // Rayleigh alone, with these ohms, stays under −50 dB; then the third harmonic rises 7 dB a dB.
    expect(at(21)).toBeLessThan(-50);
    expect(at(27)).toBeGreaterThan(-35);
    expect(at(30)).toBeGreaterThan(-20);
    expect(coreTone('transformer-output', { gap: 'gapped' }, 20, 4)[2]!).toBeGreaterThan(-125);
  });

  it('adds nothing where it is ideal', () => {
    expect(coreTone('transformer-output', { core: 'ideal' }, 20, 20)[3]!).toBeLessThan(-200);
  });

  it('is what its reading says, by Rayleigh’s law', () => {
    expectNear(reading('transformer-output', 'core: third harmonic').value, coreTone('transformer-output', {}, 50, 4)[3]!, 0.3, 'H3, dB');
    expectNear(reading('transformer-output', 'core: inductance rise').value, 0.091, 0.001, 'η');
  });

  it('has for small loops a third harmonic current of 4/15π of η, 0.8 dB less at 0.09, 1.6 dB at 0.2', () => {
    const shortfall = (eta: number): number => {
      // λ = L0 i (1 + η) with i = η L0/ν.
      const loop = rayleighLoop(10, 1800, (eta * 10 / 1800) * 10 * (1 + eta));
      expectNear(loop.eta, eta, 1e-12, 'η');
      return 20 * Math.log10(loop.thirdRatio / ((4 / (15 * Math.PI)) * eta));
    };
    expectNear(shortfall(1e-5), 0, 0.001, 'dB');
    expectNear(shortfall(0.09), -0.8, 0.06, 'dB');
    expectNear(shortfall(0.2), -1.6, 0.06, 'dB');
  });

  it('follows its winding: half the turns bend an eighth as much per ampere', () => {
    expectNear(rayleighOf(10), 1800, 1e-9, 'H/A');
    expectNear(rayleighOf(2.5), 225, 1e-9, 'H/A');
    expectNear(saturationFlux(27.2), 0.2, 0.0005, 'Vs');
  });

  it('refuses direct current that saturates it at rest', () => {
    const stage = stageById('transformer-output');
    expect(() => resolveValues(stage, { gap: 'gapped', directAmperes: 0.1 })).toThrow(/transformer-output: directAmperes: expected at most 5\d\.\d+ mA, since .* got 100 mA/);
    expect(() => resolveValues(stage, { directAmperes: 0.1 })).not.toThrow();
    expect(() => resolveValues(stage, { gap: 'gapped', directAmperes: 0.1, core: 'ideal' })).not.toThrow();
  });
});

describe('what stands before a transformer or a line', () => {
  const before: OutputNetwork = { from: 'e', to: 'o', components: [{ kind: 'resistor', name: 'R', between: ['e', 'o'], ohms: 1000 }, { kind: 'capacitor', name: 'C', between: ['e', 'o'], farads: 1e-9 }] };

  it.each([
    ['transformer-output', {}], ['transformer-output', { turnsRatio: 4 }], ['transformer-input', {}], ['line', {}], ['line', { driving: 'direct' }], ['line', { driving: 'transformer' }],
  ] as const)('%s %j hands it on in its own network, seen through the turns', (id, given) => {
    const stage = stageById(id);
    const values = valuesOf(id, given);
    const system = assembleCircuit(stage.circuit(values, before)!);
    const network = stage.outputNetwork(values, before)!;
    const alone = assembleCircuit({
      title: 'network', temperatureC: 27, output: [network.to, 'ground'],
      components: [{ kind: 'input', name: 'E', between: [network.from, 'ground'], biasVolts: 0 }, ...network.components],
    });
    for (const hz of [100, 1000, 10e3, 40e3]) {
      const [real] = outputImpedance(system, findOperatingPoint(system), [hz]);
      const [declared] = outputImpedance(alone, findOperatingPoint(alone), [hz]);
      expectNear(Math.hypot(declared!.re - real!.re, declared!.im - real!.im) / Math.hypot(real!.re, real!.im), 0, 1e-6, `${hz} Hz`);
    }
  });
});

describe('the input transformer', () => {
  it('steps up ten times less what 150 Ω and the windings lose into their load', () => {
    const { db } = through('transformer-input', {});
    const seenOhms = 190 * 100 + 2500;
    expectNear(db(1000), 20 + 20 * Math.log10(150e3 / (150e3 + seenOhms)), 0.01, 'gain, dB');
  });

  it('is flat within half a decibel from 20 Hz to 20 kHz and ends without a peak in the band', () => {
    const { db } = through('transformer-input', {});
    for (const hz of [20, 50, 200, 5e3, 10e3, 20e3]) expectNear(db(hz) - db(1000), 0, 0.5, `${hz} Hz, dB`);
    expect(resonantPeak(db)?.db ?? 0).toBeLessThan(0.5);
  });

  it('steps down when the turns say so', () => {
    // Behind 2502 Ω, windings and source through the turns.
    expectNear(through('transformer-input', { turnsRatio: 10, loadOhms: 1e6 }).db(1000), -20 - 20 * Math.log10(1.002502), 0.005, 'gain, dB');
  });
});

describe('the line', () => {
  it.each(checksOf('LINE-FULL'))('$id through a transformer without inductance to lose', (entry) => {
    const total = numberInput(entry, 'Rs_ohm');
    const { db } = through('line', {
      driving: 'transformer', driverOhms: total - 0.2, primaryOhms: 0.1, secondaryOhms: 0.1, primaryHenries: 1000, leakageHenries: numberInput(entry, 'L_H'), secondaryFarads: 1e-12, damper: 'off',
      lineMetres: 100, lineFaradsPerMetre: (numberInput(entry, 'C_F') - 1e-12) / 100, lineOhmsPerMetre: 1e-6, loadOhms: numberInput(entry, 'RL_ohm'),
    });
    // A core lets nothing through at 0 Hz, so against 200 Hz, where 0.0008 dB are left of the resonance. The line's resistance, 100 µΩ, and the 0.1 Ω after the leakage are 0.001 dB at most.
    const [, , peakDb, peakHz, lossDb, ...atDb] = entry.expected as readonly number[];
    const reference = db(200);
    const peak = resonantPeak(db)!;
    expectNear(peak.db + db(1000) - reference, peakDb!, 0.003, 'peak, dB');
    expectNear(peak.hz, peakHz!, 2e-4 * peakHz!, 'peak, Hz');
    expectNear(reference, lossDb!, 0.001, 'loss, dB');
    [1e3, 10e3, 20e3, 40e3].forEach((hz, k) => expectNear(db(hz) - reference, atDb[k]!, 0.003, `${hz} Hz, dB`));
  });

  /** A chain of series resistance, leakage and capacitance, without load, as the line stage and its transformer come nearest to it. */
  const openChain = (ohms: number, henries: number, farads: number) => through('line', {
    driving: 'transformer', driverOhms: ohms - 0.2, primaryOhms: 0.1, secondaryOhms: 0.1, primaryHenries: 1000, leakageHenries: henries, secondaryFarads: 1e-12, damper: 'off',
    lineMetres: 10, lineFaradsPerMetre: (farads - 1e-12) / 10, lineOhmsPerMetre: 1e-6, loadOhms: 1e7,
  });

  it.each(checksOf('RLC-Q'))('$id through a transformer', (entry) => {
    const [q, ratio, atResonanceDb] = entry.expected as readonly [number, number, number];
    const resonanceHz = 1 / (2 * Math.PI * Math.sqrt(1e-3 * 1e-9));
    const { db } = openChain(1000 / q, 1e-3, 1e-9);
    const peak = resonantPeak(db)!;
    // Against 1 kHz, 0.0004 dB from 0 Hz.
    expectNear(peak.db, numberInput(entry, 'peak_dB'), 0.003, 'peak, dB');
    expectNear(peak.hz / resonanceHz, ratio, 0.001, 'peak frequency over the resonance');
    expectNear(db(resonanceHz) - db(1000), atResonanceDb, 0.003, 'at the resonance, dB');
  });

  it.each(checksOf('LINE-L').filter(({ id }) => id !== 'LINE-LUMPED'))('$id through a transformer', (entry) => {
    const [, , ohms, peakHz, at20kHzDb] = entry.expected as readonly [number, number, number, number, number];
    const { db } = openChain(ohms, numberInput(entry, 'L_H'), numberInput(entry, 'C_F'));
    const reference = db(200);
    const peak = resonantPeak(db)!;
    expectNear(peak.db + db(1000) - reference, 1.5, 0.004, 'peak, dB');
    expectNear(peak.hz, peakHz, 5e-4 * peakHz, 'peak, Hz');
    expectNear(db(20e3) - reference, at20kHzDb, 0.004, '20 kHz, dB');
  });

  it('sounds the same direct with the transformer’s resistance as a resistance, and loses as much at 1 kHz', () => {
    const direct = through('line', { driving: 'direct-same-resistance' });
    const transformer = through('line', { driving: 'transformer' });
    expectNear(direct.db(1000), transformer.db(1000), 0.02, 'loss, dB');
    expect(direct.db(20e3)).toBeLessThan(transformer.db(20e3) - 1);
  });

  it('shows its driver’s limit and how far full power goes', () => {
    const given = { driving: 'direct', lineOhmsPerMetre: 1e-6 };
    // 64.03 mA at +24 dBu, so 20 mA at 10.1 dB less.
    expectNear(reading('line', 'driver’s current limit', given).value, 24 + 20 * Math.log10(20 / 64.03), 0.01, 'limit, dBu');
    expectNear(reading('line', 'full power to', given).value, 20e-3 / 30e-9 / (2 * Math.PI * 17.36164), 1, 'full power, Hz');
    expectNear(reading('line', 'corner with the line', given).value, 106_103.3, 1, 'corner, Hz');
  });

  it('is one lump to 1.2 % at 300 m, and says where it is none', () => {
    const words = (lineMetres: number) => stageById('line').report(valuesOf('line', { lineMetres }), programOf('line', { lineMetres })).remarks.find(({ label }) => label === 'one lump')!.words;
    expect(words(300)).toContain('1.2 % larger');
    expect(words(2000)).toContain('no longer');
  });
});

describe.each(Object.keys(ladders) as Id[])('%s', (id) => {
  it.each(wiredVariants(stageById(id)).map(({ name, values }) => ({ name, values })))('$name: its readings’ ladder is its circuit', ({ values }) => {
    const { db, amperesPerVolt } = responseOf(stageById(id).circuit(values, null)!);
    // A core that carries direct current has more inductance than the readings count with.
    const limit = values['gap'] === 'gapped' && values['core'] !== 'ideal' ? 1e-3 : 1e-6;
    for (const hz of [20, 1000, 9e3, 20e3, 60e3]) {
      expectNear(ladderGainDb(ladders[id](values), hz), db(hz), limit, `${hz} Hz, dB`);
      expectNear(ladderResponse(ladders[id](values), hz).sourceAmperesPerVolt / amperesPerVolt(hz), 1, limit, `${hz} Hz, current`);
    }
  });
});

describe('relevant parameters', () => {
  const variants = [...(Object.keys(ladders) as Id[]), 'line-amplifier'].flatMap((id) => wiredVariants(stageById(id)));

  it.each(variants.map(({ name, stage, values }) => ({ name, stage, values })))('$name: those left out change nothing of the circuit, the others do, and those drawn are not left out', ({ stage, values }) => {
    const relevant = stage.relevant!(values);
    const circuit = JSON.stringify(stage.circuit(values, null));
    for (const parameter of stage.parameters) {
      if (relevant.includes(parameter.id)) continue;
      const other = parameter.kind === 'number' ? parameter.maximum : parameter.options.find(({ id }) => id !== values[parameter.id])!.id;
      expect(JSON.stringify(stage.circuit({ ...values, [parameter.id]: other }, null)), parameter.id).toBe(circuit);
    }
    // The ideal gains are outside the circuit, and two values are for the readings alone.
    const outside = new Set(['driveDb', 'makeUpDb', 'wantedPeakDb', 'limitAmperes']);
    for (const parameter of stage.parameters) {
      if (parameter.kind !== 'number' || !relevant.includes(parameter.id) || outside.has(parameter.id)) continue;
      expect(JSON.stringify(stage.circuit({ ...values, [parameter.id]: 1.01 * parameter.default }, null)), parameter.id).not.toBe(circuit);
    }
    const drawing = stage.drawingFor?.(values) ?? stage.drawing!;
    for (const { parameter } of [...drawing.placements, ...drawing.values]) if (parameter !== undefined) expect(relevant).toContain(parameter);
  });
});

describe('isolation', () => {
  const drawn = (['transformer-output', 'transformer-input', 'line', 'line-amplifier'] as const).flatMap((id) => wiredVariants(stageById(id))).filter(({ stage, values }) => stage.circuit(values, null)!.components.some(({ name }) => name === 'T1'));

  it.each(drawn.map(({ name, stage, values }) => ({ name, stage, values })))('$name: no wire joins the two sides of the drawing', ({ stage, values }) => {
    const groups = terminalGroups(stage.drawingFor?.(values) ?? stage.drawing!);
    // Components and wires reachable from a terminal of the transformer without passing through it.
    const reached = (start: string): Set<string> => {
      const seen = new Set<string>();
      const todo = groups.filter((group) => group.some((terminal) => terminal.name === start));
      for (let group = todo.pop(); group !== undefined; group = todo.pop()) {
        for (const { placement } of group) {
          const name = placement.component ?? `${placement.symbol} at ${placement.at.join(',')}`;
          if (placement.symbol === 'transformer' || seen.has(name)) continue;
          seen.add(name);
          todo.push(...groups.filter((other) => other.some((terminal) => terminal.placement === placement)));
        }
      }
      return seen;
    };
    const primary = new Set([...reached('primaryStart'), ...reached('primaryEnd')]);
    const secondary = new Set([...reached('secondaryStart'), ...reached('secondaryEnd')]);
    expect(primary.has('IN')).toBe(true);
    expect(secondary.has('RL')).toBe(true);
    expect([...primary].filter((name) => secondary.has(name))).toEqual([]);
  });
});
