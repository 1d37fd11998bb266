/**
 * Where a kernel's numbers lie, in bytes from `base`. *Lane* numbers come once a channel, the channels side by side (`laneBytes` from one number to
 * the next: 16 for two lanes). *Shared* numbers lie the same way, each as often as there are lanes: the engine's compiler loads a pair in one
 * instruction, a number to be spread in two, and makes a constant that is written into the code in three. The rescue's scratch is single float64s.
 */
import { EXP_COEFFICIENTS, LN2_HIGH, LN2_LOW, LOG2_E, ROUNDING_SHIFT } from '../../math/index.ts';
import { roundedUp } from '../../webassembly/index.ts';
import { coreHeadLength, coreStackLength } from '../core-law.ts';
import { highestExponent, lowestExponent } from '../device-laws.ts';
import type { KernelStructure } from './kernel-structure.ts';

/** Numbers of each channel, in this order; up to `coreHeads` they are the image that rest restores. */
type LaneSection =
  | 'states' | 'previousStates' | 'portVolts' | 'volts' | 'currents' | 'jacobian' | 'factors' | 'inverses' | 'excess' | 'factored' | 'missed' | 'missedBefore' | 'expectedMiss' | 'coreHeads'
  | 'samples' | 'evaluations' | 'rescues' | 'capHits' | 'nonFinite' | 'maximumEvaluations' | 'coreStacks'
  | 'ports' | 'step' | 'limitedStep' | 'startPortVolts' | 'predicted' | 'missedNow' | 'coreCells' | 'evaluationsNow'
  | 'sources' | 'unknowns' | 'input' | 'output' | 'rescued';

/** Where a core's flux is handed to the functions for one lane, and the branch it is on back. */
export const coreCell = { flux: 0, from: 1, fromAmperes: 2, bend: 3 } as const;
export const coreCellLength = 4;

/** Numbers that every kernel has in memory. */
export const pooledConstants: readonly number[] = [1, 2, 3, 4, LOG2_E, ROUNDING_SHIFT, LN2_HIGH, LN2_LOW, ...EXP_COEFFICIENTS, lowestExponent, highestExponent];

/** Constants, numbers of the program, then the image of a channel at rest. */
type SharedSection =
  | 'constants' | 'tolerance' | 'restOutput' | 'inverseScale' | 'freeStep' | 'portConstants' | 'portCoefficients' | 'feedback'
  | 'updateConstants' | 'updateCoefficients'
  | 'sourceConstants' | 'sourceCoefficients' | 'linear' | 'portHeldVolts' | 'controlHeldVolts' | 'nodalUpdateConstants' | 'nodalUpdateCoefficients'
  | 'controlOffsets' | 'parameters' | 'shift' | 'junctionWidth' | 'junctionCritical' | 'longestStep' | 'stepGrowth' | 'restImage';

type ScratchSection = 'wanted' | 'solved' | 'goodVolts' | 'previousStep' | 'matrix' | 'rightSide' | 'solution';

export interface MemoryLayout {
  /** From one lane number to the next. */
  readonly laneBytes: number;
  readonly lane: Readonly<Record<LaneSection, number>>;
  readonly shared: Readonly<Record<SharedSection, number>>;
  readonly scratch: Readonly<Record<ScratchSection, number>>;
  /** Lane numbers in the image of a channel at rest … */
  readonly imageCount: number;
  /** … and in everything that lasts from block to block. */
  readonly lastingCount: number;
  readonly bytes: number;
}

export function memoryLayout(structure: KernelStructure, laneBytes: number): MemoryLayout {
  const { states: n, controls, ports: m, currents: r, jacobianCount, factorCount, inverseCount, parameterCount, merged, shifted, topology, cores } = structure;
  const { nodal } = topology;
  const laneCounts: readonly (readonly [LaneSection, number])[] = [
    ['states', n], ['previousStates', n], ['portVolts', m], ['volts', merged ? controls : 0], ['currents', r], ['jacobian', jacobianCount],
    ['factors', factorCount], ['inverses', inverseCount], ['excess', nodal === null ? 0 : r], ['factored', 1], ['missed', m], ['missedBefore', m], ['expectedMiss', m],
    ['coreHeads', coreHeadLength * cores], ['samples', 1], ['evaluations', 1], ['rescues', 1], ['capHits', 1], ['nonFinite', 1], ['maximumEvaluations', 1],
    ['coreStacks', coreStackLength * cores],
    ['sources', nodal?.size ?? 0], ['unknowns', nodal?.size ?? 0], ['input', nodal ? 1 : 0], ['output', nodal ? 1 : 0], ['rescued', nodal ? 1 : 0],
    ['ports', m], ['step', m], ['limitedStep', m], ['startPortVolts', m], ['predicted', m], ['missedNow', m], ['coreCells', coreCellLength * cores], ['evaluationsNow', 1],
  ];
  const lane = placesFrom(0, laneCounts, laneBytes);
  // Where every control has a port of its own, v is x.
  if (!merged) lane.places.volts = lane.places.portVolts;
  const imageCount = countThrough(laneCounts, 'coreHeads');
  const shared = placesFrom(lane.end, [
    ['constants', pooledConstants.length], ['tolerance', 1], ['restOutput', 1], ['inverseScale', m], ['freeStep', m],
    ['portConstants', m], ['portCoefficients', topology.portRows.columns.length], ['feedback', topology.feedbackRows.columns.length],
    ['updateConstants', n + 1], ['updateCoefficients', topology.updateRows.columns.length],
    ['sourceConstants', nodal?.size ?? 0], ['sourceCoefficients', nodal?.sourceRows.columns.length ?? 0], ['linear', nodal?.linearPlaces.length ?? 0], ['portHeldVolts', nodal ? m : 0], ['controlHeldVolts', nodal ? controls : 0],
    ['nodalUpdateConstants', nodal ? n + 1 : 0], ['nodalUpdateCoefficients', nodal?.updateRows.columns.length ?? 0],
    ['controlOffsets', controls], ['parameters', parameterCount], ['shift', shifted ? jacobianCount : 0],
    ['junctionWidth', controls], ['junctionCritical', controls], ['longestStep', controls], ['stepGrowth', controls], ['restImage', imageCount],
  ], laneBytes);
  const scratch = placesFrom(shared.end, [
    ['wanted', m], ['solved', m], ['goodVolts', m], ['previousStep', m], ['matrix', m * m], ['rightSide', m], ['solution', m],
  ], 8);
  return {
    laneBytes, lane: lane.places, shared: shared.places, scratch: scratch.places,
    imageCount, lastingCount: countThrough(laneCounts, 'coreStacks'), bytes: roundedUp(scratch.end),
  };
}

/** Sections one after the other from `start` on, `stride` bytes from one number to the next. */
function placesFrom<Section extends string>(
  start: number, counts: readonly (readonly [Section, number])[], stride: number,
): { readonly places: Record<Section, number>; readonly end: number } {
  let at = start;
  const places = {} as Record<Section, number>;
  for (const [section, count] of counts) {
    places[section] = at;
    at += stride * count;
  }
  return { places, end: at };
}

function countThrough(counts: readonly (readonly [LaneSection, number])[], last: LaneSection): number {
  let sum = 0;
  for (const [section, count] of counts) {
    sum += count;
    if (section === last) break;
  }
  return sum;
}
