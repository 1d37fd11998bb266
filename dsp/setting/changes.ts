/** What differs between two paths: stages that came, went or moved, values, switches, sheets, calibration. Pure. */
import { supply, surroundings } from '../path/index.ts';
import type { PathSetting, PathStage } from '../path/index.ts';
import { stageById } from '../stages/index.ts';
import type { Parameter, SheetDefinition, StageValues } from '../stages/index.ts';

export type SheetName = 'surroundings' | 'supply';

/** Where a value stands now. */
export type ChangePlace = { readonly kind: 'stage'; readonly index: number; readonly stage: string } | { readonly kind: 'sheet'; readonly sheet: SheetName };

export type PathChange =
  | { readonly kind: 'stage-added' | 'stage-removed'; readonly index: number; readonly stage: string }
  | { readonly kind: 'stage-moved'; readonly fromIndex: number; readonly index: number; readonly stage: string }
  | { readonly kind: 'value'; readonly place: ChangePlace; readonly parameter: Parameter; readonly was: number | string; readonly now: number | string }
  | { readonly kind: 'in-circuit' | 'reversed' | 'joined'; readonly index: number; readonly stage: string; readonly now: boolean }
  | { readonly kind: 'sheet'; readonly sheet: SheetName; readonly now: boolean }
  | { readonly kind: 'full-scale' | 'factor'; readonly was: number; readonly now: number }
  | { readonly kind: 'ladder'; readonly was: PathSetting['ladder']; readonly now: PathSetting['ladder'] };

export const sheetDefinitions: Readonly<Record<SheetName, SheetDefinition>> = { surroundings, supply };
const sheetNames = Object.keys(sheetDefinitions) as readonly SheetName[];

/** In the order in which a reader looks: the stages there are, then each in its place, what stands round them, calibration and rate. */
export function pathChanges(was: PathSetting, now: PathSetting): PathChange[] {
  if (was === now) return [];
  const pairs = pairStages(was.stages, now.stages);
  const gone = was.stages.flatMap((stage, index): PathChange[] => (pairs.some((pair) => pair.was === index) ? [] : [{ kind: 'stage-removed', index, stage: stage.stage }]));
  const came = now.stages.flatMap((stage, index): PathChange[] => (pairs.some((pair) => pair.now === index) ? [] : [{ kind: 'stage-added', index, stage: stage.stage }]));
  const moved = pairs.flatMap((pair): PathChange[] => (pair.moved ? [{ kind: 'stage-moved', fromIndex: pair.was, index: pair.now, stage: now.stages[pair.now]!.stage }] : []));
  return [
    ...gone, ...came, ...moved,
    ...pairs.flatMap((pair) => stageChanges(was.stages[pair.was]!, now.stages[pair.now]!, pair.now)),
    ...sheetNames.flatMap((sheet) => sheetChanges(sheet, was[sheet], now[sheet])),
    ...(was.fullScaleDbu === now.fullScaleDbu ? [] : [{ kind: 'full-scale', was: was.fullScaleDbu, now: now.fullScaleDbu } as const]),
    ...(was.oversamplingFactor === now.oversamplingFactor ? [] : [{ kind: 'factor', was: was.oversamplingFactor, now: now.oversamplingFactor } as const]),
    ...(was.ladder === now.ladder ? [] : [{ kind: 'ladder', was: was.ladder, now: now.ladder } as const]),
  ];
}

interface StagePair {
  readonly was: number;
  readonly now: number;
  /** Out of the order in which the others stand. */
  readonly moved: boolean;
}

/**
 * Which stage of one path is which of the other. Keys say nothing, since a file gives them anew: the longest sequence of stages of the same kinds in the
 * same order counts, and of several as long the one whose values agree most. What is left over pairs off by kind as moved.
 */
function pairStages(was: readonly PathStage[], now: readonly PathStage[]): StagePair[] {
  const kept = longestCommon(was, now);
  const leftNow = now.map((_, index) => index).filter((index) => !kept.some((pair) => pair.now === index));
  const leftWas = was.map((_, index) => index).filter((index) => !kept.some((pair) => pair.was === index));
  const moved = leftNow.flatMap((index): StagePair[] => {
    const candidates = leftWas.filter((from) => was[from]!.stage === now[index]!.stage);
    const [first] = candidates;
    if (first === undefined) return [];
    const best = candidates.reduce((found, from) => (likeness(was[from]!, now[index]!) > likeness(was[found]!, now[index]!) ? from : found), first);
    leftWas.splice(leftWas.indexOf(best), 1);
    return [{ was: best, now: index, moved: true }];
  });
  return [...kept, ...moved].sort((a, b) => a.now - b.now);
}

/** One pair counts more than any number of agreeing values. */
const pairWeight = 1000;

function likeness(a: PathStage, b: PathStage): number {
  return Object.keys(a.values).filter((id) => a.values[id] === b.values[id]).length;
}

/** Longest common subsequence by dynamic programming (textbook), weighted by likeness. */
function longestCommon(was: readonly PathStage[], now: readonly PathStage[]): StagePair[] {
  const best = Array.from({ length: was.length + 1 }, () => new Array<number>(now.length + 1).fill(0));
  const weight = (i: number, j: number): number => (was[i]!.stage === now[j]!.stage ? pairWeight + likeness(was[i]!, now[j]!) : -1);
  for (let i = was.length - 1; i >= 0; i -= 1) {
    for (let j = now.length - 1; j >= 0; j -= 1) {
      const paired = weight(i, j) < 0 ? -1 : weight(i, j) + best[i + 1]![j + 1]!;
      best[i]![j] = Math.max(paired, best[i + 1]![j]!, best[i]![j + 1]!);
    }
  }
  const pairs: StagePair[] = [];
  for (let i = 0, j = 0; i < was.length && j < now.length;) {
    const whole = best[i]![j]!;
    if (weight(i, j) >= 0 && whole === weight(i, j) + best[i + 1]![j + 1]!) {
      pairs.push({ was: i, now: j, moved: false });
      i += 1;
      j += 1;
    } else if (whole === best[i + 1]![j]!) i += 1;
    else j += 1;
  }
  return pairs;
}

function stageChanges(was: PathStage, now: PathStage, index: number): PathChange[] {
  const { stage } = now;
  const switched = (kind: 'in-circuit' | 'reversed' | 'joined', before: boolean, after: boolean): PathChange[] => (before === after ? [] : [{ kind, index, stage, now: after }]);
  return [
    ...switched('in-circuit', was.inCircuit, now.inCircuit),
    ...switched('reversed', was.reversed, now.reversed),
    ...switched('joined', was.joined, now.joined),
    ...valueChanges({ kind: 'stage', index, stage }, stageById(stage).parameters, was.values, now.values),
  ];
}

function sheetChanges(sheet: SheetName, was: StageValues | null, now: StageValues | null): PathChange[] {
  if (was === null || now === null) return was === now ? [] : [{ kind: 'sheet', sheet, now: now !== null }];
  return valueChanges({ kind: 'sheet', sheet }, sheetDefinitions[sheet].parameters, was, now);
}

function valueChanges(place: ChangePlace, parameters: readonly Parameter[], was: StageValues, now: StageValues): PathChange[] {
  return parameters.flatMap((parameter): PathChange[] => {
    const before = was[parameter.id] ?? parameter.default;
    const after = now[parameter.id] ?? parameter.default;
    return before === after ? [] : [{ kind: 'value', place, parameter, was: before, now: after }];
  });
}
