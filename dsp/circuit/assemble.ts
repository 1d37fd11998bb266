/**
 * From circuit document to numbered equations. Nodes are numbered by first mention (components in document order, terminals in
 * the field table's order, a transistor's inner base right after its terminals), then one branch row for each component that needs
 * one, in document order; states and devices likewise. Names never decide order.
 */
import { terminalsOf } from './component-fields.ts';
import type { CircuitDocument, Component, CoupledInductors, DeviceComponent } from './components.ts';
import { buildDeviceTable, thermalVolts } from './devices.ts';
import { groundNode } from './document.ts';
import { stampEquations, stampStorage } from './stamps.ts';
import type { CurrentPort, LinearElement } from './stamps.ts';
import type { CircuitSystem, StateElement } from './system.ts';

type Rows = [number, number];

/** The system of a parsed document. Never throws for one that `parseCircuitDocument` accepted. */
export function assembleCircuit(document: CircuitDocument): CircuitSystem {
  const nodes = numberNodes(document.components);
  const builder = new SystemBuilder(nodes);
  for (const component of document.components) builder.place(component);
  const vt = thermalVolts(document.temperatureC);
  const size = nodes.names.length + builder.branchNames.length;
  const dimensions = { size, states: builder.states.length };
  const { elements, currents, controls } = builder;
  return {
    title: document.title,
    temperatureC: document.temperatureC,
    thermalVolts: vt,
    size,
    nodeNames: nodes.names,
    branchNames: builder.branchNames,
    states: builder.states,
    devices: buildDeviceTable(builder.devices, vt),
    controlRows: Int32Array.from(controls.flatMap(({ plus, minus }) => [plus, minus])),
    controlSigns: Float64Array.from(controls, ({ sign }) => sign),
    currentRows: Int32Array.from(currents.flatMap(({ from, to }) => [from, to])),
    currentSigns: Float64Array.from(currents, ({ sign }) => sign),
    coreStates: Int32Array.from(builder.coreStates),
    outputRows: [nodes.rowOf(document.output[0]), nodes.rowOf(document.output[1])],
    inputBranch: builder.inputBranch,
    stateRows: Int32Array.from(builder.stateRows.flat()),
    knownControls: document.knownRest ? controlsAt(document.knownRest, nodes.names, controls) : null,
    stamp: (discretisation) => stampEquations(elements, currents, dimensions, discretisation),
    stampStorage: () => stampStorage(elements, size),
  };
}

/** Nodes that are not known, and what is no voltage of a node (a flux), count as 0. */
function controlsAt(volts: Readonly<Record<string, number>>, names: readonly string[], controls: SystemBuilder['controls']): Float64Array {
  const at = (row: number): number => (row < 0 ? 0 : volts[names[row] ?? ''] ?? 0);
  return Float64Array.from(controls, ({ plus, minus, sign }) => sign * (at(plus) - at(minus)));
}

interface NodeNumbers {
  readonly names: readonly string[];
  rowOf(node: string): number;
  /** Row of the inner base of the transistor `name`; its outer base where it has no base resistance. */
  innerBaseOf(name: string): number;
}

function numberNodes(components: readonly Component[]): NodeNumbers {
  const names: string[] = [];
  const rows = new Map<string, number>([[groundNode, -1]]);
  const innerBases = new Map<string, number>();
  for (const component of components) {
    for (const node of terminalsOf(component)) {
      if (!rows.has(node)) rows.set(node, names.push(node) - 1);
    }
    if (component.kind !== 'bipolar') continue;
    innerBases.set(component.name, component.baseOhms > 0 ? names.push(`${component.name} inner base`) - 1 : rows.get(component.base)!);
  }
  return { names, rowOf: (node) => rows.get(node)!, innerBaseOf: (name) => innerBases.get(name)! };
}

class SystemBuilder {
  readonly elements: LinearElement[] = [];
  readonly branchNames: string[] = [];
  readonly states: StateElement[] = [];
  readonly stateRows: Rows[] = [];
  readonly coreStates: number[] = [];
  readonly devices: DeviceComponent[] = [];
  readonly controls: { plus: number; minus: number; sign: number }[] = [];
  readonly currents: CurrentPort[] = [];
  inputBranch = -1;
  private readonly nodes: NodeNumbers;

  constructor(nodes: NodeNumbers) {
    this.nodes = nodes;
  }

  place(component: Component): void {
    const row = this.nodes.rowOf;
    switch (component.kind) {
      case 'resistor': {
        const [a, b] = this.rows(component.between);
        this.elements.push({ kind: 'conductance', a, b, siemens: 1 / component.ohms });
        return;
      }
      case 'capacitor':
        this.placeCapacitor(component.name, this.rows(component.between), component.farads);
        return;
      case 'inductor':
        this.placeInductor(component.name, component.name, this.rows(component.between), component.henries);
        return;
      case 'coupled-inductors':
        this.placeCoupled(component);
        return;
      case 'ideal-transformer':
        this.placeTransformer(component.name, component.primary, component.secondary, component.turnsRatio);
        return;
      case 'voltage-source': {
        const [a, b] = this.rows(component.between);
        this.elements.push({ kind: 'source', a, b, branch: this.addBranch(component.name), volts: component.volts, signal: false });
        return;
      }
      case 'input': {
        const [a, b] = this.rows(component.between);
        this.inputBranch = this.addBranch(component.name);
        this.elements.push({ kind: 'source', a, b, branch: this.inputBranch, volts: component.biasVolts, signal: true });
        return;
      }
      case 'current-source':
        this.elements.push({ kind: 'current', from: row(component.from), to: row(component.to), amperes: component.amperes });
        return;
      case 'amplifier': {
        const [a, b] = this.rows(component.out);
        const [c, d] = this.rows(component.in);
        this.elements.push({ kind: 'amplifier', a, b, c, d, branch: this.addBranch(component.name), gain: component.gain });
        return;
      }
      case 'transconductor': {
        const [into, taken] = this.rows(component.out);
        const [c, d] = this.rows(component.in);
        this.elements.push({ kind: 'transconductance', from: taken, to: into, c, d, siemens: component.siemens });
        return;
      }
      default:
        this.placeDevice(component);
    }
  }

  private placeDevice(device: DeviceComponent): void {
    const row = this.nodes.rowOf;
    this.devices.push(device);
    switch (device.kind) {
      case 'diode':
        this.addPorts([[row(device.anode), row(device.cathode)]], [[row(device.anode), row(device.cathode)]], 1);
        return;
      case 'bipolar': {
        const [collector, emitter] = [row(device.collector), row(device.emitter)];
        const base = this.nodes.innerBaseOf(device.name);
        const junctions: Rows[] = [[base, emitter], [base, collector]];
        this.addPorts(junctions, junctions, device.polarity === 'npn' ? 1 : -1);
        if (device.baseOhms > 0) this.elements.push({ kind: 'conductance', a: row(device.base), b: base, siemens: 1 / device.baseOhms });
        if (device.emitterCapacitanceFarads > 0) this.placeCapacitor(`${device.name} base–emitter`, [base, emitter], device.emitterCapacitanceFarads);
        if (device.collectorCapacitanceFarads > 0) this.placeCapacitor(`${device.name} base–collector`, [base, collector], device.collectorCapacitanceFarads);
        return;
      }
      case 'forward-bipolar': {
        const base = row(device.base);
        const pairs: Rows[] = [[base, row(device.emitter)], [base, row(device.collector)]];
        this.addPorts(pairs, pairs, device.polarity === 'npn' ? 1 : -1);
        return;
      }
      case 'forward-field-effect': {
        const [drain, gate, source] = [row(device.drain), row(device.gate), row(device.source)];
        this.addPorts([[gate, source], [gate, drain]], [[drain, source]], device.channel === 'n' ? 1 : -1);
        return;
      }
      case 'field-effect': {
        const [drain, gate, source] = [row(device.drain), row(device.gate), row(device.source)];
        const controls: Rows[] = [[gate, source], [gate, drain]];
        this.addPorts(controls, [[drain, source], ...(device.gateSaturationAmperes === null ? [] : controls)], device.channel === 'n' ? 1 : -1);
        return;
      }
      case 'triode': {
        const [anode, grid, cathode] = [row(device.anode), row(device.grid), row(device.cathode)];
        const gridCurrent: Rows[] = device.gridPerveance === null ? [] : [[grid, cathode]];
        this.addPorts([[grid, cathode], [anode, cathode]], [[anode, cathode], ...gridCurrent], 1);
        return;
      }
      case 'tanh-transconductor': {
        const [into, taken] = this.rows(device.out);
        this.addPorts([this.rows(device.in)], [[taken, into]], 1);
        return;
      }
      case 'product-transconductor': {
        const [into, taken] = this.rows(device.out);
        this.addPorts([this.rows(device.inA), this.rows(device.inB)], [[taken, into]], 1);
        return;
      }
      case 'core': {
        const [a, b] = this.rows(device.between);
        const branch = this.addBranch(device.name);
        const state = this.addState(device.name, 'flux', [branch, -1], 1e-3 * device.inductanceHenries);
        this.coreStates.push(state);
        this.elements.push({ kind: 'flux', a, b, branch, state });
        this.addPorts([[branch, -1]], [[a, b]], 1);
      }
    }
  }

  /** Both windings as inductors with a mutual part; at full coupling a transformer with the primary's inductance across it: one state. */
  private placeCoupled(component: CoupledInductors): void {
    const { name, primary, secondary, primaryHenries, secondaryHenries, coupling } = component;
    if (coupling === 1) {
      this.placeTransformer(`${name} transformer`, primary, secondary, Math.sqrt(primaryHenries / secondaryHenries));
      this.placeInductor(name, `${name} magnetising`, this.rows(primary), primaryHenries);
      return;
    }
    const first = this.placeInductor(name, `${name} primary`, this.rows(primary), primaryHenries);
    const second = this.placeInductor(name, `${name} secondary`, this.rows(secondary), secondaryHenries);
    this.elements.push({
      kind: 'mutual', branches: [first.branch, second.branch], states: [first.state, second.state],
      henries: coupling * Math.sqrt(primaryHenries * secondaryHenries),
    });
  }

  private placeTransformer(branchName: string, primary: readonly [string, string], secondary: readonly [string, string], ratio: number): void {
    const [a, b] = this.rows(primary);
    const [c, d] = this.rows(secondary);
    this.elements.push({ kind: 'transformer', a, b, c, d, branch: this.addBranch(branchName), ratio });
  }

  private placeCapacitor(stateName: string, [a, b]: Rows, farads: number): void {
    this.elements.push({ kind: 'capacitor', a, b, state: this.addState(stateName, 'capacitor', [a, b], 1), farads });
  }

  private placeInductor(branchName: string, stateName: string, [a, b]: Rows, henries: number): { branch: number; state: number } {
    const branch = this.addBranch(branchName);
    const state = this.addState(stateName, 'inductor', [branch, -1], 1e-3);
    this.elements.push({ kind: 'inductor', a, b, branch, state, henries });
    return { branch, state };
  }

  private addState(name: string, kind: StateElement['kind'], rows: Rows, unit: number): number {
    this.stateRows.push(rows);
    return this.states.push({ name, kind, unit }) - 1;
  }

  private addBranch(name: string): number {
    return this.nodes.names.length + this.branchNames.push(name) - 1;
  }

  private addPorts(controls: readonly Rows[], currents: readonly Rows[], sign: number): void {
    for (const [plus, minus] of controls) this.controls.push({ plus, minus, sign });
    for (const [from, to] of currents) this.currents.push({ from, to, sign });
  }

  private rows([a, b]: readonly [string, string]): Rows {
    return [this.nodes.rowOf(a), this.nodes.rowOf(b)];
  }
}
