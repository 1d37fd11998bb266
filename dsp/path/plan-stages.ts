/** What runs between source and load, one thing after another. */
import type { OutputNetwork, StageValues } from '../stages/index.ts';
import type { PlannedProgram, PlannedStage, RefusedJoint } from './plan.ts';
import { programAlone, programJoined, programOfSurroundings } from './stage-programs.ts';
import type { PathEntry, ProgramNeeds } from './stage-programs.ts';
import { directCircuit, loadCircuit, sourceCircuit, sourceOutput } from './surroundings/circuits.ts';

/** Keys of what runs and is no stage. */
export const surroundingsKeys = { source: 'surroundings source', load: 'surroundings load', direct: 'surroundings direct' } as const;

/** Unknowns of the largest circuit that stages are joined to; more than a stage has by itself it may have too. */
export const maximumPorts = 8;

export interface StagesNeeds extends ProgramNeeds {
  readonly surroundings: StageValues | null;
  /** Whether a stage is to be joined to the running stage before it. */
  readonly joins: (entry: PathEntry) => boolean;
  readonly trialKey: string | null;
  /** This stage is driven by an ideal source, whatever stands before it; none if absent. */
  readonly idealSourceKey?: string;
}

export interface PlannedStages {
  readonly stages: readonly PlannedStage[];
  readonly refusedJoints: readonly RefusedJoint[];
}

/** Every program that these stages need, each wired to the output network of what runs before it. Throws PathError. */
export function planStages(entries: readonly PathEntry[], needs: StagesNeeds): PlannedStages {
  const { surroundings, trialKey } = needs;
  const stages: PlannedStage[] = [];
  const refusedJoints: RefusedJoint[] = [];
  let source: OutputNetwork | null = null;
  if (surroundings !== null) {
    stages.push(ofSurroundings('source', programOfSurroundings('source', sourceCircuit(surroundings), needs), null));
    source = sourceOutput(surroundings);
  }
  for (let at = 0; at < entries.length;) {
    if (entries[at]!.stage.key === needs.idealSourceKey) source = null;
    const { joined, wired, loaded, refused } = programOfSeveral(entries, at, source, needs);
    if (refused) refusedJoints.push(refused);
    const last = joined.at(-1)!;
    stages.push({
      key: last.stage.key, stage: last.stage.stage, reversed: last.stage.reversed, source, loaded, wired,
      members: joined.map(({ stage: { key, stage, reversed }, index }) => ({ key, stage, index, reversed })),
      polarity: joined.reduce((sign, entry) => sign * polarityOf(entry), 1) < 0 ? -1 : 1,
      onTrial: joined.some(({ stage }) => stage.key === trialKey),
    });
    source = networkBehind(joined, source);
    at += joined.length;
  }
  // With stages, the load is in the last one's circuit; if that is none, an ideal source drives the load without taking notice of it.
  if (surroundings !== null && entries.length === 0) stages.push(ofSurroundings('load', programOfSurroundings('load', loadCircuit(surroundings, source), needs), source));
  return { stages, refusedJoints };
}

/** The surroundings driven past the path. */
export function planDirect(surroundings: StageValues, needs: ProgramNeeds): PlannedStage {
  return ofSurroundings('direct', programOfSurroundings('direct', directCircuit(surroundings), needs), null);
}

/** What stages in series hand on: each may let through what stands before it. */
export function networkBehind(entries: readonly PathEntry[], source: OutputNetwork | null): OutputNetwork | null {
  return entries.reduce((before, { stage, definition }) => definition.outputNetwork(stage.values, before), source);
}

/** −1: what comes out is what goes in upside down. */
export function polarityOf({ stage, definition }: PathEntry): 1 | -1 {
  return (definition.invertsFor?.(stage.values) ?? definition.inverts) !== stage.reversed ? -1 : 1;
}

function ofSurroundings(part: keyof typeof surroundingsKeys, wired: PlannedProgram, source: OutputNetwork | null): PlannedStage {
  return { key: surroundingsKeys[part], stage: 'surroundings', members: [], reversed: false, polarity: 1, onTrial: false, source, loaded: false, wired };
}

interface JoinedProgram {
  readonly joined: readonly PathEntry[];
  readonly wired: PlannedProgram;
  readonly loaded: boolean;
  readonly refused: RefusedJoint | null;
}

/** As many stages from `at` on as are to be solved together and fit; with the load of the path, which is linear and adds no unknown, where they are the last. */
function programOfSeveral(entries: readonly PathEntry[], at: number, source: OutputNetwork | null, needs: StagesNeeds): JoinedProgram {
  const isCircuit = ({ stage, definition }: PathEntry): boolean => definition.circuit(stage.values, null) !== null;
  const first = entries[at]!;
  if (!isCircuit(first)) return { joined: [first], wired: programAlone(first, source, needs), loaded: false, refused: null };
  let end = at + 1;
  while (end < entries.length && needs.joins(entries[end]!) && isCircuit(entries[end]!)) end += 1;
  let refused: RefusedJoint | null = null;
  for (;; end -= 1) {
    const joined = entries.slice(at, end);
    const load = needs.surroundings !== null && end === entries.length ? loadCircuit(needs.surroundings, null) : null;
    const alone = joined.length === 1;
    const wired = alone && load === null ? programAlone(first, source, needs) : programJoined({ entries: joined, source, load }, needs);
    const ports = portsOf(wired);
    const most = alone ? ports : Math.max(maximumPorts, ...joined.map((entry) => portsOf(programAlone(entry, null, { ...needs, rule: 'T1' }))));
    if (ports <= most) return { joined, wired, loaded: load !== null, refused };
    const last = joined.at(-1)!;
    refused = {
      key: last.stage.key,
      sentence: `Stages ${first.index + 1} to ${last.index + 1} are not joined: one circuit of them has ${ports} unknown voltages, and ${most} is the most that plays.`,
    };
  }
}

function portsOf({ program }: PlannedProgram): number {
  return program.kind === 'circuit' ? program.circuit.topology.portCount : 0;
}
