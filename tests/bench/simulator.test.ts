// Transient netlists of reactances: a linear circuit driven by a cosine from its periodic orbit on gives the exact response of its components.
import { describe, expect, it } from 'vitest';
import { assembleCircuit, exactResponse, findOperatingPoint } from '../../dsp/circuit/index.ts';
import { capacitor, inductor, input, parsedOf, resistor } from '../support/circuits.ts';
import { simulatorIsInstalled } from '../support/netlist.ts';
import { benchCircuits } from './circuits.ts';
import { judgedTones, SimulatedCircuit } from './simulator.ts';

const windings = { kind: 'coupled-inductors', name: 'T1', primary: ['p', 'ground'], secondary: ['s', 'ground'], primaryHenries: 1, secondaryHenries: 4, coupling: 0.999 };

describe.skipIf(!simulatorIsInstalled())('transient analysis in a general-purpose circuit simulator', () => {
  it('follows a capacitor, an inductor and coupled windings as our exact response says, within 0.005 dB at 400 steps a period', () => {
    const document = parsedOf([
      input('in'), resistor('R1', 'in', 'a', 600), capacitor('C1', 'a', 'p', 1e-6), windings, resistor('R2', 's', 't', 1000), inductor('L1', 't', 'o', 0.1), capacitor('C2', 'o', 'ground', 1e-9), resistor('R3', 'o', 'ground', 1e4),
    ], ['o', 'ground']);
    const tone = { circuit: { name: 'linear', document, nominalPeakVolts: 1 }, frequencyHz: 1000, level: 'nominal', peakVolts: 1 } as const;
    const found = new SimulatedCircuit(tone).harmonics({ method: 'trap', tolerance: 1e-6, stepsPerPeriod: 400 }, [1], 3).get(1)!;
    const system = assembleCircuit(document);
    const exact = exactResponse(system, findOperatingPoint(system), [1000])[0]!;
    const errorDb = Math.abs(20 * Math.log10(found / Math.hypot(exact.re, exact.im)));
    expect(errorDb, `${found} V`).toBeLessThan(0.005);
  });

  it('reaches the converged harmonics of a transistor within 0.001 dB where it takes time enough', () => {
    const [, driven] = judgedTones(benchCircuits['common-emitter'], 1000);
    expect(new SimulatedCircuit(driven).errorDb({ method: 'trap', tolerance: 1e-4, stepsPerPeriod: 512 })).toBeLessThan(0.001);
  });
});
