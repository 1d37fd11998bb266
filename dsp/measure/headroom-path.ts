/** Headroom along a path: the level at each joint, what is left there, and which stage runs out first. Off the audio thread. */
import { assembleCircuit, deviceKind, exactResponse, findOperatingPoint, railsOf, type CircuitSystem, type OperatingPoint, type Rail } from '../circuit/index.ts';
import { ratioToDecibels } from '../math/index.ts';
import { plannedCircuit, type PathPlan, type PathSetting, type PlannedStage } from '../path/index.ts';
import { dbuToPeakVolts, lineLevelDbu, stageById, type StageProgram } from '../stages/index.ts';
import { measurePathInSteps, type PathOscillation } from './measure-path.ts';
import { namesOf, partName } from './stage-names.ts';

/** Nearer to a rail at rest than this share of what lies between the rails, a node is fed from it through a winding or is the rail, and may swing past it. */
const feedShare = 0.1;
/** A swing of less volts for the nominal signal is none. */
const leastSwingVolts = 1e-6;

/** What is left above the level at a joint until an inner node would meet a rail. */
export interface RailMargin {
  /** "VCC"; "0 V" where the circuit has no rail on that side of its nodes. */
  readonly rail: string;
  readonly volts: number;
  /** The node that gets there first. */
  readonly node: string;
  readonly marginDb: number;
}

export interface StageHeadroom {
  readonly key: string;
  readonly title: string;
  /** Fundamental at its output. */
  readonly levelDbu: number;
  readonly levelDbfs: number;
  /** Where 1 kHz distortion reaches 1 %, at its output; null where it does not, or for what is no circuit. */
  readonly clipDbu: number | null;
  readonly clipDbfs: number | null;
  /** From the level to the clip point. */
  readonly clipMarginDb: number | null;
  /** Straight on from small signals; the device gives up a little earlier. Empty without rails. */
  readonly rails: readonly RailMargin[];
}

export interface PathHeadroom {
  readonly oscillates?: undefined;
  readonly frequencyHz: number;
  readonly sourceDbu: number;
  readonly sourceDbfs: number;
  readonly fullScaleDbu: number;
  readonly stages: readonly StageHeadroom[];
  /** From the level at the path's output to full scale. */
  readonly fullScaleMarginDb: number;
  /** The stage with the least left: to its clip point, or to a rail where no clip point was found. Null where nothing ever runs out. */
  readonly first: { readonly key: string; readonly title: string; readonly marginDb: number; readonly limit: string } | null;
}

/** Clip levels by identity of program: they are what takes long. */
export type ClipMemory = Map<string, number | null>;

export interface HeadroomOptions {
  /** Of the source; +4 dBu if absent. */
  readonly sourceDbu?: number;
  readonly frequencyHz?: number;
  readonly memory?: ClipMemory;
}

/** Yields after every stage, so that a worker can let go. `plan` was made from `path`. */
export function* pathHeadroom(path: PathSetting, plan: PathPlan, options: HeadroomOptions = {}): Generator<void, PathHeadroom | PathOscillation> {
  const { sourceDbu = lineLevelDbu, frequencyHz = 1000, memory = new Map() } = options;
  const measured = yield* measurePathInSteps(plan, { frequencyHz, peakVolts: dbuToPeakVolts(sourceDbu), scope: { kind: 'path' }, orders: [] });
  if (measured.oscillates) return measured;
  const { fullScaleDbu } = path;
  const stages: StageHeadroom[] = [];
  let reachingDbu = sourceDbu;
  for (const [k, planned] of plan.stages.entries()) {
    const { levelDbu } = measured.joints[k]!;
    const clipDbu = clipOf(path, planned, memory);
    stages.push({
      ...namesOf(path, planned), levelDbu, levelDbfs: levelDbu - fullScaleDbu, clipDbu, clipDbfs: clipDbu === null ? null : clipDbu - fullScaleDbu,
      clipMarginDb: clipDbu === null ? null : clipDbu - levelDbu, rails: railMargins(path, planned, reachingDbu, frequencyHz),
    });
    reachingDbu = levelDbu;
    yield;
  }
  return {
    frequencyHz: measured.frequencyHz, sourceDbu, sourceDbfs: sourceDbu - fullScaleDbu, fullScaleDbu, stages,
    fullScaleMarginDb: fullScaleDbu - reachingDbu, first: firstOf(stages),
  };
}

function firstOf(stages: readonly StageHeadroom[]): PathHeadroom['first'] {
  let first: PathHeadroom['first'] = null;
  for (const { key, title, clipMarginDb, rails } of stages) {
    const rail = rails.reduce<RailMargin | null>((least, each) => (least === null || each.marginDb < least.marginDb ? each : least), null);
    const marginDb = clipMarginDb ?? rail?.marginDb ?? Infinity;
    const limit = clipMarginDb !== null ? 'clip point' : rail === null ? '' : `${rail.node} at ${rail.rail}`;
    if (marginDb < (first?.marginDb ?? Infinity)) first = { key, title, marginDb, limit };
  }
  return first;
}

/** Of what runs together: at the output of its last stage. */
function clipOf({ stages }: PathSetting, { members, wired: { identity, program } }: PlannedStage, memory: ClipMemory): number | null {
  const last = members.at(-1);
  if (last === undefined || program.kind !== 'circuit') return null;
  if (!memory.has(identity)) {
    const { stage, values } = stages[last.index]!;
    memory.set(identity, stageById(stage).clipOutputDbu(values, program));
  }
  return memory.get(identity)!;
}

/** A circuit at rest with what each node moves for a volt at the circuit's input; kept for the program, since only the level changes. */
interface Swings {
  readonly frequencyHz: number;
  readonly rails: readonly Rail[];
  readonly nodes: readonly { readonly name: string; readonly restVolts: number; readonly perInputVolt: number }[];
}
const knownSwings = new WeakMap<StageProgram, Swings>();

function railMargins(path: PathSetting, planned: PlannedStage, reachingDbu: number, frequencyHz: number): RailMargin[] {
  const { program } = planned.wired;
  if (program.kind !== 'circuit') return [];
  let swings = knownSwings.get(program);
  if (swings?.frequencyHz !== frequencyHz) {
    swings = swingsOf(path, planned, frequencyHz);
    knownSwings.set(program, swings);
  }
  const { rails, nodes } = swings;
  if (rails.length === 0) return [];
  const inputPeakVolts = dbuToPeakVolts(reachingDbu) * program.inputGain;
  // Of several in one circuit each swings between the supplies it has alone.
  if (planned.members.length <= 1) return marginsBetween(planned, rails, nodes, inputPeakVolts);
  return planned.members.flatMap((member, k) => {
    const own = suppliesOf(path, member.index);
    return marginsBetween(planned, rails.filter(({ volts }) => own.has(volts)), nodes.filter(({ name }) => name.startsWith(`${k + 1} `)), inputPeakVolts);
  });
}

/** Voltages of a stage's supplies. */
function suppliesOf({ stages }: PathSetting, index: number): ReadonlySet<number> {
  const { stage, values } = stages[index]!;
  const { components } = stageById(stage).circuit(values, null)!;
  return new Set(components.flatMap((component) => (component.kind === 'voltage-source' ? [component.volts] : [])));
}

function marginsBetween(planned: PlannedStage, rails: Swings['rails'], nodes: Swings['nodes'], inputPeakVolts: number): RailMargin[] {
  const ground = { component: '0 V', volts: 0 };
  const limits = [...rails, ...(rails.some(({ volts }) => volts > 0) !== rails.some(({ volts }) => volts < 0) ? [ground] : [])];
  const highest = Math.max(...limits.map(({ volts }) => volts));
  const lowest = Math.min(...limits.map(({ volts }) => volts));
  return limits.flatMap(({ component, volts }): RailMargin[] => {
    let least: RailMargin | null = null;
    for (const { name, restVolts, perInputVolt } of nodes) {
      const room = Math.abs(volts - restVolts);
      const swing = perInputVolt * inputPeakVolts;
      // Coupled nodes rest at 0 V and are none of the rails' business; so is what stands at a rail.
      if (room < feedShare * (highest - lowest) || !(swing > leastSwingVolts)) continue;
      const marginDb = ratioToDecibels(room / swing);
      if (least === null || marginDb < least.marginDb) least = { rail: component === ground.component ? component : partName(planned, component), volts, node: partName(planned, name), marginDb };
    }
    return least === null ? [] : [least];
  });
}

function swingsOf(path: PathSetting, planned: PlannedStage, frequencyHz: number): Swings {
  const document = plannedCircuit(path, planned)!;
  const system = assembleCircuit(document);
  const point = findOperatingPoint(system);
  const rails = railsOf(document, system, point);
  if (rails.length === 0) return { frequencyHz, rails, nodes: [] };
  // What a device's current flows through swings against the rails; the rest follows it through coupling capacitors.
  const rows = new Set([...system.devices.names.keys()].flatMap((d) => rowsOf(system, d)).filter((row) => row >= 0));
  const nodes = [...rows].map((row) => ({ name: system.nodeNames[row]!, restVolts: point.w[row]!, perInputVolt: swingAt(system, point, row, frequencyHz) }));
  return { frequencyHz, rails, nodes };
}

/** Ends of what a device carries from one electrode to another, not of what it takes to be told: emitter and collector, source and drain. Of heat and flux: none. */
function rowsOf({ devices, currentRows }: CircuitSystem, device: number): number[] {
  const first = 2 * devices.currentOffsets[device]!;
  switch (devices.kinds[device]) {
    case deviceKind.bipolar: case deviceKind.forwardBipolar: return [currentRows[first + 1]!, currentRows[first + 3]!];
    case deviceKind.productTransconductor: case deviceKind.core: return [];
    default: return [currentRows[first]!, currentRows[first + 1]!];
  }
}

function swingAt(system: CircuitSystem, point: OperatingPoint, row: number, frequencyHz: number): number {
  const { re, im } = exactResponse({ ...system, outputRows: [row, -1] }, point, [frequencyHz])[0]!;
  return Math.sqrt(re * re + im * im);
}
