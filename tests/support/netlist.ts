// A circuit document as a netlist for a general-purpose circuit simulator, and its direct-current sweep. Runs only where the program is installed.
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { CircuitDocument, Component } from '../../dsp/circuit/index.ts';

export const simulator = 'ngspice';

export function simulatorIsInstalled(): boolean {
  return spawnSync(simulator, ['--version'], { stdio: 'ignore' }).status === 0;
}

export interface Sweep {
  readonly from: number;
  readonly to: number;
  readonly step: number;
}

/** Output volts at each input of the sweep (bias on top). */
export function simulatedSweep(document: CircuitDocument, sweep: Sweep): { input: number; output: number }[] {
  const folder = mkdtempSync(join(tmpdir(), 'stagebench-netlist-'));
  try {
    const file = join(folder, 'circuit.cir');
    writeFileSync(file, netlistOf(document, sweep, join(folder, 'out.txt')));
    execFileSync(simulator, ['-b', file], { stdio: 'pipe' });
    // Each line: input, output.
    return readFileSync(join(folder, 'out.txt'), 'utf8').trim().split('\n').map((line) => {
      const [at, output] = line.trim().split(/\s+/).map(Number);
      return { input: at! - biasOf(document), output: output! };
    });
  } finally {
    rmSync(folder, { recursive: true });
  }
}

export function biasOf(document: CircuitDocument): number {
  const found = document.components.find((component) => component.kind === 'input');
  return found?.kind === 'input' ? found.biasVolts : 0;
}

function netlistOf(document: CircuitDocument, { from, to, step }: Sweep, out: string): string {
  const bias = biasOf(document);
  const [plus, minus] = document.output.map(node);
  return [
    '* test circuit', `.options temp=${document.temperatureC} tnom=${document.temperatureC} gmin=1e-22 reltol=1e-9 abstol=1e-19 vntol=1e-13 itl1=2000 itl2=2000`,
    ...document.components.flatMap((component) => cardOf(component)),
    // The output as one vector to ground, whatever its nodes are.
    `eout sbout 0 ${plus} ${minus} 1`,
    '.control', 'set numdgt=15', `dc vsbinput ${from + bias} ${to + bias} ${step}`, `wrdata ${out} v(sbout)`, 'quit', '.endc', '.end', '',
  ].join('\n');
}

/** Its name in a netlist. */
export function node(name: string): string {
  return name === 'ground' ? '0' : `n${name}`;
}

/** What reactances store when time begins, by the names of a program's states: volts of a capacitor, amperes of an inductor or winding. */
export type Stored = ReadonlyMap<string, number>;

/** Null: for direct current, where a capacitor is left out. */
export function cardOf(component: Component, stored: Stored | null = null): string[] {
  const { name } = component;
  const initial = (state: string): string => {
    const found = stored!.get(state);
    if (found === undefined) throw new Error(`${state}: expected what it stores, got none of ${[...stored!.keys()].join(', ')}`);
    return `ic=${found}`;
  };
  switch (component.kind) {
    case 'input':
      return [`vsbinput ${component.between.map(node).join(' ')} ${component.biasVolts}`];
    case 'voltage-source':
      return [`v${name} ${component.between.map(node).join(' ')} ${component.volts}`];
    case 'current-source':
      return [`i${name} ${node(component.from)} ${node(component.to)} ${component.amperes}`];
    case 'resistor':
      return [`r${name} ${component.between.map(node).join(' ')} ${component.ohms}`];
    case 'diode':
      return [`d${name} ${node(component.anode)} ${node(component.cathode)} m${name}`, `.model m${name} d(is=${component.saturationAmperes} n=${component.emissionCoefficient})`];
    case 'bipolar': {
      const early = component.earlyVolts === null ? '' : ` vaf=${component.earlyVolts}`;
      return [
        `q${name} ${node(component.collector)} ${node(component.base)} ${node(component.emitter)} m${name}`,
        `.model m${name} ${component.polarity}(is=${component.saturationAmperes} bf=${component.forwardBeta} br=${component.reverseBeta}${early} rb=${component.baseOhms})`,
      ];
    }
    case 'field-effect':
      return [
        `j${name} ${node(component.drain)} ${node(component.gate)} ${node(component.source)} m${name}`,
        `.model m${name} ${component.channel}jf(vto=${component.thresholdVolts} beta=${component.betaAmperesPerVolt2} lambda=${component.lambdaPerVolt} is=${component.gateSaturationAmperes ?? 1e-30})`,
      ];
    case 'triode': {
      const [a, g, k] = [node(component.anode), node(component.grid), node(component.cathode)];
      const difference = (p: string, n: string): string => [p === '0' ? '' : `v(${p})`, n === '0' ? '' : `-v(${n})`].join('') || '0';
      return [
        `b${name} ${a} ${k} i=${component.perveance}*pow(max(0,(${difference(g, k)})+(${difference(a, k)})/${component.mu}),1.5)`,
        ...(component.gridPerveance === null ? [] : [`bg${name} ${g} ${k} i=${component.gridPerveance}*pow(max(0,${difference(g, k)}),1.5)`]),
      ];
    }
    case 'tanh-transconductor': {
      const [p, q, r, s] = [...component.out, ...component.in].map(node) as [string, string, string, string];
      return [`e${name} sb${name} 0 ${r} ${s} 1`, `b${name} ${q} ${p} i=${component.maxAmperes}*tanh(v(sb${name})/${component.scaleVolts})`];
    }
    case 'product-transconductor': {
      const [p, q, r, s, t, u] = [...component.out, ...component.inA, ...component.inB].map(node) as [string, string, string, string, string, string];
      return [`ea${name} sba${name} 0 ${r} ${s} 1`, `eb${name} sbb${name} 0 ${t} ${u} 1`, `b${name} ${q} ${p} i=${component.amperesPerVolt2}*v(sba${name})*v(sbb${name})`];
    }
    case 'transconductor':
      return [`g${name} ${node(component.out[1])} ${node(component.out[0])} ${component.in.map(node).join(' ')} ${component.siemens}`];
    case 'amplifier':
      return [`e${name} ${component.out.map(node).join(' ')} ${component.in.map(node).join(' ')} ${component.gain}`];
    case 'capacitor':
      return stored === null ? [] : [`c${name} ${component.between.map(node).join(' ')} ${component.farads} ${initial(name)}`];
    case 'inductor':
      if (stored !== null) return [`l${name} ${component.between.map(node).join(' ')} ${component.henries} ${initial(name)}`];
      throw new Error(`${name}: no card for ${component.kind} at direct current`);
    case 'coupled-inductors':
      if (stored === null) throw new Error(`${name}: no card for ${component.kind} at direct current`);
      return [
        `l${name}a ${component.primary.map(node).join(' ')} ${component.primaryHenries} ${initial(`${name} primary`)}`,
        `l${name}b ${component.secondary.map(node).join(' ')} ${component.secondaryHenries} ${initial(`${name} secondary`)}`,
        `k${name} l${name}a l${name}b ${component.coupling}`,
      ];
    case 'ideal-transformer':
    case 'core':
    case 'forward-bipolar':
    case 'forward-field-effect':
      throw new Error(`${name}: no card for ${component.kind}`);
  }
}
