/** What makes harmonics in a path, each to be taken away alone. */
import type { Mechanism, OutputNetwork } from '../stages/index.ts';
import type { PathSetting } from './contract.ts';
import { networkBehind, type StagesNeeds } from './plan-stages.ts';
import { entryOf, type PathEntry } from './stage-programs.ts';
import { sourceOutput } from './surroundings/circuits.ts';

/** A mechanism and the stage that it is in. */
export interface PathMechanism {
  readonly key: string;
  /** Of the stage in the setting's list. */
  readonly index: number;
  readonly mechanism: Mechanism;
}

/** Of the stages in circuit, from source to load: what they declare, and that they load what stands before them. Throws PathError. */
export function pathMechanisms({ stages, surroundings }: Pick<PathSetting, 'stages' | 'surroundings'>): PathMechanism[] {
  const entries = stages.flatMap((stage, index) => (stage.inCircuit ? [entryOf(stage, index)] : []));
  return entries.flatMap((entry, k) => {
    const source = networkBehind(entries.slice(0, k), surroundings && sourceOutput(surroundings));
    return mechanismsAt(entry, source, k === 0).map((mechanism) => ({ key: entry.stage.key, index: entry.index, mechanism }));
  });
}

function mechanismsAt({ stage, definition }: PathEntry, source: OutputNetwork | null, isFirst: boolean): readonly Mechanism[] {
  const declared = definition.mechanisms(stage.values);
  if (source === null || source.components.length === 0 || definition.circuit(stage.values, null) === null) return declared;
  const before = isFirst ? 'source' : 'stage before';
  return [...declared, {
    id: 'loading', label: `loading of the ${before}`, removal: { kind: 'ideal-source' },
    sentence: `The stage is driven by an ideal source with the open-circuit voltage of the ${before}: what it draws drops nothing there.`,
  }];
}

/** What is taken away of the stage with this key. */
export interface TakenAway {
  readonly key: string;
  readonly removal: Mechanism['removal'];
}

/** Entries and needs of the path without it. */
export function withoutMechanism(entries: readonly PathEntry[], needs: StagesNeeds, { key, removal }: TakenAway): { readonly entries: readonly PathEntry[]; readonly needs: StagesNeeds } {
  switch (removal.kind) {
    case 'circuit':
      return { entries, needs: { ...needs, removed: { key, removals: removal.of } } };
    case 'ideal-source':
      return { entries, needs: { ...needs, idealSourceKey: key, joins: (entry) => entry.stage.key !== key && needs.joins(entry) } };
    case 'values':
      return {
        entries: entries.map((entry) => (entry.stage.key === key ? { ...entry, stage: { ...entry.stage, values: { ...entry.stage.values, ...removal.values } } } : entry)),
        needs,
      };
  }
}
