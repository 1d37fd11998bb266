import { dbuToPeakVolts } from '../stages/index.ts';
import type { PathSetting, PathStage } from './contract.ts';
import type { PlannedStage } from './plan.ts';
import { networkBehind, polarityOf } from './plan-stages.ts';
import { entryOf, programAlone, programJoined, type PathEntry, type ProgramNeeds } from './stage-programs.ts';
import { loadCircuit, sourceOutput } from './surroundings/circuits.ts';

/** Two neighbours in both ways that they can be solved, for a comparison of the two. */
export interface PlannedPair {
  /** One after the other, the second with the first one's output network. */
  readonly apart: readonly [PlannedStage, PlannedStage];
  readonly joined: PlannedStage;
  /** Identity of the first alone, at which level it is driven, of the second alone: two pairs with the same are compared alike. */
  readonly identity: string;
  /** Of a sine at line level at the first one's input. */
  readonly nominalPeakVolts: number;
}

const lineLevelDbu = 4;

/**
 * The stage at `index` with the running stage before it, at a rate of their own by the plainest rule: what the rule misses is then the same both ways. Null where there is no joint of
 * two circuits before it. Off the audio thread; throws PathError.
 */
export function planPair({ stages, surroundings }: PathSetting, index: number, rateHz: number): PlannedPair | null {
  const running = stages.flatMap((stage, k) => (stage.inCircuit ? [entryOf(stage, k)] : []));
  const place = running.findIndex((entry) => entry.index === index);
  if (place < 1) return null;
  const second = running[place]!;
  const first = running[place - 1]!;
  if (!isCircuit(first) || !isCircuit(second)) return null;
  const needs: ProgramNeeds = { rateHz, rule: 'T1' };
  const source = networkBehind(running.slice(0, place - 1), surroundings && sourceOutput(surroundings));
  const load = surroundings !== null && place === running.length - 1 ? loadCircuit(surroundings, null) : null;
  const between = networkBehind([first], source);
  const planned = (entries: readonly PathEntry[], from: PlannedStage['source'], loaded: boolean, wired: PlannedStage['wired']): PlannedStage => {
    const { stage } = entries.at(-1)!;
    return {
      key: stage.key, stage: stage.stage, reversed: stage.reversed, source: from, loaded, onTrial: false, wired,
      members: entries.map((entry) => ({ key: entry.stage.key, stage: entry.stage.stage, index: entry.index, reversed: entry.stage.reversed })),
      polarity: entries.reduce((sign, entry) => sign * polarityOf(entry), 1) < 0 ? -1 : 1,
    };
  };
  const alone = programAlone(first, source, needs);
  const behind = load === null ? programAlone(second, between, needs) : programJoined({ entries: [second], source: between, load }, needs);
  return {
    apart: [planned([first], source, false, alone), planned([second], between, load !== null, behind)],
    joined: planned([first, second], source, load !== null, programJoined({ entries: [first, second], source, load }, needs)),
    identity: JSON.stringify([alone.identity, first.stage.reversed, behind.identity]),
    nominalPeakVolts: dbuToPeakVolts(lineLevelDbu),
  };
}

/** Indices of the stages before which two circuits meet, so that the joint can be probed. */
export function probedJoints({ stages }: Pick<PathSetting, 'stages'>): number[] {
  const running = stages.flatMap((stage, index) => (stage.inCircuit ? [{ stage, index }] : []));
  const circuit = ({ stage, index }: { readonly stage: PathStage; readonly index: number }): boolean => isCircuit(entryOf(stage, index));
  return running.flatMap((entry, k) => (k > 0 && circuit(running[k - 1]!) && circuit(entry) ? [entry.index] : []));
}

const isCircuit = ({ stage, definition }: PathEntry): boolean => definition.circuit(stage.values, null) !== null;
