import { blockModuleKey as circuitBlockKey, emitBlocks as emitCircuitBlocks, kernelBytes, kernelKey } from '../circuit/index.ts';
import { emitLadder, ladderModuleKey } from '../resampling/index.ts';
import { emitSections, emitShaping, sectionModuleKey, shapingModuleKey } from '../stages/index.ts';
import { blockModuleKey, emitBlocks } from './emit/block-code.ts';
import { pathsOf } from './plan-sides.ts';
import type { TrialPlan } from './plan.ts';

/** A module that compiled code of a path is made of: what it is called in the store of modules, and its bytes. */
export interface CodeModule {
  readonly key: string;
  readonly emit: () => Uint8Array<ArrayBuffer>;
}

const fixed: readonly CodeModule[] = [
  { key: ladderModuleKey, emit: emitLadder },
  { key: blockModuleKey, emit: emitBlocks },
  { key: shapingModuleKey, emit: emitShaping },
  { key: sectionModuleKey, emit: emitSections },
  { key: circuitBlockKey, emit: emitCircuitBlocks },
];

/** The modules that every path may need, whatever is in it. */
export function staticModules(): readonly CodeModule[] {
  return fixed;
}

/** The kernels of a plan's circuits, each once: with the static modules all that the plan runs in, so that they can be compiled on another thread than the one that plays. */
export function kernelModules(plan: TrialPlan): readonly CodeModule[] {
  const modules = new Map<string, CodeModule>();
  for (const { wired: { program } } of pathsOf(plan).flatMap(({ stages, trial, direct }) => [...stages, ...trial?.without ?? [], ...direct === null ? [] : [direct]])) {
    if (program.kind !== 'circuit') continue;
    const { circuit } = program;
    const key = kernelKey(circuit);
    if (!modules.has(key)) modules.set(key, { key, emit: () => kernelBytes(circuit) });
  }
  return [...modules.values()];
}
