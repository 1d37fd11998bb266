/** What can be taken away of a figure's subject: one mechanism after another, and each stage's altogether. */
import type { CircuitDocument } from '../../../circuit/index.ts';
import { pathMechanisms, type OnTrial } from '../../../path/index.ts';
import { derivedMechanisms, stageById, type Mechanism, type Removal } from '../../../stages/index.ts';
import type { FigureFacts } from '../contract.ts';
import { documentKey } from '../subject.ts';

export interface WhyItem {
  /** A mechanism by itself, or all that bends in a stage. */
  readonly kind: 'mechanism' | 'stage';
  /** Of its stage; of a circuit document `documentKey`. */
  readonly key: string;
  /** From 1; 0 for a circuit document. */
  readonly stageNumber: number;
  readonly label: string;
  readonly sentence: string;
  readonly removal: Removal;
  /** Null where it cannot be heard apart. */
  readonly trial: OnTrial | null;
}

/** "crossover of the output pair, stage 2"; "stage 2 altogether (push-pull stage)" */
export function itemName({ kind, label, stageNumber }: WhyItem): string {
  if (stageNumber === 0) return label;
  return kind === 'stage' ? `stage ${stageNumber} altogether (${label})` : `${label}, stage ${stageNumber}`;
}

/** Stage by stage from source to load: its mechanisms, then all of them where there are several. Throws PathError or CircuitError. */
export function whyItems({ path, scope, document }: Pick<FigureFacts, 'path' | 'scope' | 'document'>): WhyItem[] {
  if (path === null) return document ? ofStage(documentKey, 0, 'the circuit altogether', derivedOf(document)) : [];
  const found = pathMechanisms(path);
  return path.stages.flatMap((stage, index) => {
    const wanted = scope.kind === 'path' || scope.key === stage.key;
    const mechanisms = wanted ? found.filter(({ key }) => key === stage.key).map(({ mechanism }) => mechanism) : [];
    return ofStage(stage.key, index + 1, stageById(stage.stage).shortTitle, mechanisms);
  });
}

/** Found once for a document: drawing asks again and again. */
const derived = new WeakMap<CircuitDocument, readonly Mechanism[]>();

function derivedOf(document: CircuitDocument): readonly Mechanism[] {
  const found = derived.get(document) ?? derivedMechanisms(document);
  derived.set(document, found);
  return found;
}

function ofStage(key: string, stageNumber: number, altogether: string, mechanisms: readonly Mechanism[]): WhyItem[] {
  const items = mechanisms.map(({ id, label, sentence, removal }): WhyItem => ({
    kind: 'mechanism', key, stageNumber, label, sentence, removal, trial: stageNumber === 0 ? null : { kind: 'without', key, mechanism: id },
  }));
  const all = togetherOf(mechanisms);
  if (all === null) return items;
  return [...items, { kind: 'stage', key, stageNumber, label: altogether, sentence: 'All that bends in it becomes its tangent at rest: the stage is linear.', removal: all, trial: null }];
}

/** All that bends: loading and held capacitors are linear by themselves. Null where one mechanism is all. */
function togetherOf(mechanisms: readonly Mechanism[]): Removal | null {
  const bending = mechanisms.flatMap(({ removal }) => (removal.kind === 'circuit' && removal.of.every(({ kind }) => kind === 'tangent') ? removal.of : []));
  const values = mechanisms.flatMap(({ removal }) => (removal.kind === 'values' ? [removal.values] : []));
  if (bending.length > 1) return { kind: 'circuit', of: bending };
  if (values.length > 1) return { kind: 'values', values: Object.assign({}, ...values) as Record<string, number | string> };
  return null;
}

/** Which items stand for the stages: what each does altogether, by its only mechanism where it has one. */
export function stageItems(items: readonly WhyItem[]): number[] {
  const keys = [...new Set(items.map(({ key }) => key))];
  return keys.flatMap((key) => {
    const whole = items.findIndex((item) => item.key === key && item.kind === 'stage');
    if (whole >= 0) return [whole];
    const only = items.findIndex((item) => item.key === key && item.kind === 'mechanism' && item.removal.kind !== 'ideal-source' && !holdsOnly(item.removal));
    return only < 0 ? [] : [only];
  });
}

const holdsOnly = (removal: Removal): boolean => removal.kind === 'circuit' && removal.of.every(({ kind }) => kind === 'hold');
