/** Programs of what runs: of a stage alone, of stages joined, of the surroundings; each made once. */
import { buildProgram, circuitAtRest, withoutParts, type CircuitDocument, type CircuitRemoval, type Grade, type IntegrationRule } from '../circuit/index.ts';
import { decibelsToRatio } from '../math/index.ts';
import { dbuToPeakVolts, lineLevelDbu, stageById } from '../stages/index.ts';
import type { CircuitStageProgram, OutputNetwork, StageDefinition } from '../stages/index.ts';
import type { PathStage } from './contract.ts';
import { joinDocuments } from './join-documents.ts';
import type { JoinedPart } from './join-documents.ts';
import { PathError, sentenceOf } from './path-error.ts';
import type { PlannedProgram } from './plan.ts';

/** A stage that is to run. */
export interface PathEntry {
  readonly stage: PathStage;
  readonly index: number;
  readonly definition: StageDefinition;
}

/** What programs are made for. */
export interface ProgramNeeds {
  readonly rateHz: number;
  readonly rule: IntegrationRule | Grade;
  /** Programs made before, by identity; new ones are added. */
  readonly known?: Map<string, PlannedProgram> | undefined;
  /** What is taken away of the circuit of one stage; none if absent. */
  readonly removed?: { readonly key: string; readonly removals: readonly CircuitRemoval[] } | undefined;
}

/** Throws PathError for a stage that is not known. */
export function entryOf(stage: PathStage, index: number): PathEntry {
  try {
    return { stage, index, definition: stageById(stage.stage) };
  } catch (error) {
    throw new PathError(stage.key, `stage ${index + 1}: ${sentenceOf(error)}`);
  }
}

/** Of one stage. Throws PathError. */
export function programAlone({ stage, index, definition }: PathEntry, source: OutputNetwork | null, needs: ProgramNeeds): PlannedProgram {
  if (needs.removed?.key === stage.key) return programWithout({ entries: [{ stage, index, definition }], source, load: null }, needs);
  const { rateHz, rule } = needs;
  const identity = JSON.stringify([definition.id, rateHz, valuesInOrder(stage, definition), source, rule]);
  return made(identity, needs, () => {
    refuse([{ stage, index, definition }]);
    try {
      return definition.program(stage.values, { rateHz, source, rule });
    } catch (error) {
      throw new PathError(stage.key, `stage ${index + 1}, ${definition.title}: ${sentenceOf(error)}`);
    }
  });
}

/** Stages that are solved in one circuit, with what loads the last one where nothing else stands between. */
export interface JoinedStages {
  readonly entries: readonly PathEntry[];
  readonly source: OutputNetwork | null;
  /** Tie line and load behind an ideal input; null: none. */
  readonly load: CircuitDocument | null;
}

/** Of circuit stages in one circuit. Throws PathError. */
export function programJoined(joined: JoinedStages, needs: ProgramNeeds): PlannedProgram {
  const { entries, source, load } = joined;
  if (entries.some(({ stage }) => stage.key === needs.removed?.key)) return programWithout(joined, needs);
  const { rateHz, rule } = needs;
  const parts = entries.map(({ stage, definition }, k) => [definition.id, valuesInOrder(stage, definition), k < entries.length - 1 && stage.reversed]);
  const identity = JSON.stringify(['joined', rateHz, parts, source, load?.components ?? null, rule]);
  return made(identity, needs, (): CircuitStageProgram => {
    refuse(entries);
    const first = entries[0]!;
    const last = entries.at(-1)!;
    const inputGain = levelRatio(first, 'driveDb');
    try {
      const circuit = buildProgram(joinedDocument(joined), { rateHz, rule, nominalPeakVolts: dbuToPeakVolts(lineLevelDbu) * inputGain });
      return { kind: 'circuit', circuit, inputGain, outputGain: load === null ? levelRatio(last, 'makeUpDb') : 1 };
    } catch (error) {
      const places = first === last ? `stage ${first.index + 1}` : `stages ${first.index + 1} to ${last.index + 1}`;
      throw new PathError(last.stage.key, `${places}, joined: ${sentenceOf(error)}`);
    }
  });
}

/** The same without what is removed of one of them, under the rule that the whole is played with: what the rule misses is then the same in both. */
function programWithout(joined: JoinedStages, needs: ProgramNeeds): PlannedProgram {
  const { entries, source, load } = joined;
  const { key, removals } = needs.removed!;
  const whole = { ...needs, removed: undefined };
  const { identity, program } = entries.length === 1 && load === null ? programAlone(entries[0]!, source, whole) : programJoined(joined, whole);
  return made(JSON.stringify(['without', key, removals, identity]), needs, () => {
    if (program.kind !== 'circuit') throw new Error(`${program.kind}: expected a circuit to take something away of`);
    const place = entries.findIndex(({ stage }) => stage.key === key);
    try {
      const without = withoutParts(circuitAtRest(circuitOf(joined)!), removals, prefixOf(joined, place));
      const nominalPeakVolts = dbuToPeakVolts(lineLevelDbu) * program.inputGain;
      return { ...program, circuit: buildProgram(without, { rateHz: needs.rateHz, rule: program.circuit.rule, nominalPeakVolts }) };
    } catch (error) {
      throw new PathError(key, `stage ${entries[place]!.index + 1}, with a mechanism taken away: ${sentenceOf(error)}`);
    }
  });
}

/** The circuit of stages in series, make-up, reversal and drive between them included; of one stage its own. Null where one is no circuit. */
export function circuitOf(joined: JoinedStages): CircuitDocument | null {
  const { entries, source, load } = joined;
  return entries.length === 1 && load === null ? entries[0]!.definition.circuit(entries[0]!.stage.values, source) : joinedDocument(joined);
}

/** Before the names of a stage's parts in the circuit it is joined in. A stage that is alone with the load keeps its names. */
const prefixOf = ({ entries }: Pick<JoinedStages, 'entries'>, place: number): string => (entries.length === 1 ? '' : `${place + 1} `);

function joinedDocument({ entries, source, load }: JoinedStages): CircuitDocument {
  const parts = entries.map((entry, k): JoinedPart => {
    const { stage, definition } = entry;
    const document = definition.circuit(stage.values, k === 0 ? source : null);
    if (document === null) throw new Error(`${definition.title}: expected a circuit to be joined, got none`);
    const next = entries[k + 1];
    const gain = levelRatio(entry, 'makeUpDb') * (next ? levelRatio(next, 'driveDb') * (stage.reversed ? -1 : 1) : 1);
    return { document, prefix: prefixOf({ entries }, k), gain };
  });
  return joinDocuments(load === null ? parts : [...parts, { document: load, prefix: 'load ', gain: 1 }]);
}

/** A circuit of the surroundings. `name` and `numbers` say which. */
export function programOfSurroundings(name: string, document: CircuitDocument, needs: ProgramNeeds): PlannedProgram {
  const { rateHz, rule } = needs;
  return made(JSON.stringify([name, rateHz, document.components, rule]), needs, (): CircuitStageProgram => {
    try {
      return { kind: 'circuit', circuit: buildProgram(document, { rateHz, rule, nominalPeakVolts: dbuToPeakVolts(lineLevelDbu) }), inputGain: 1, outputGain: 1 };
    } catch (error) {
      throw new PathError('', `surroundings: ${sentenceOf(error)}`);
    }
  });
}

function made(identity: string, { known }: ProgramNeeds, make: () => PlannedProgram['program']): PlannedProgram {
  const before = known?.get(identity);
  if (before) return before;
  const planned = { identity, program: make() };
  known?.set(identity, planned);
  return planned;
}

/** Throws PathError where values cannot be used together. */
function refuse(entries: readonly PathEntry[]): void {
  for (const { stage, index, definition } of entries) {
    const refused = definition.refuse(stage.values);
    if (refused !== null) throw new PathError(stage.key, `stage ${index + 1}, ${definition.title}: ${refused}`);
  }
}

const valuesInOrder = (stage: PathStage, { parameters }: StageDefinition): unknown[] => parameters.map(({ id }) => stage.values[id]);

/** The stage contract's ideal controls before and behind a circuit. */
function levelRatio({ stage }: PathEntry, id: 'driveDb' | 'makeUpDb'): number {
  const db = stage.values[id];
  return typeof db === 'number' ? decibelsToRatio(db) : 1;
}
