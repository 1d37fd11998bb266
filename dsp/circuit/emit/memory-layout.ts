/**
 * Where a kernel's numbers lie, in bytes from `base`. *Lane* numbers come once a channel, the channels side by side (`laneBytes` from one number to the next: 16 for two lanes);
 * *shared* numbers and the rescue's scratch are single float64s.
 */
import { roundedUp } from '../../webassembly/index.ts';
import type { KernelStructure } from './kernel-structure.ts';

/** Numbers of each channel, in this order; up to `missed` they are the image that rest restores. */
type LaneSection =
  | 'states' | 'previousStates' | 'portVolts' | 'volts' | 'currents' | 'jacobian' | 'factors' | 'factored' | 'missed'
  | 'samples' | 'evaluations' | 'rescues' | 'capHits' | 'nonFinite' | 'maximumEvaluations'
  | 'ports' | 'step' | 'limitedStep' | 'startPortVolts' | 'predicted' | 'evaluationsNow';

/** Numbers of the program, then the image of a channel at rest. */
type SharedSection =
  | 'tolerance' | 'restOutput' | 'inverseScale' | 'freeStep' | 'portConstants' | 'portCoefficients' | 'feedback' | 'updateConstants' | 'updateCoefficients'
  | 'controlOffsets' | 'parameters' | 'shift' | 'junctionWidth' | 'junctionCritical' | 'longestStep' | 'restImage'
  // Scratch of the rescue.
  | 'wanted' | 'solved' | 'goodVolts' | 'previousStep' | 'matrix' | 'rightSide' | 'solution';

export interface MemoryLayout {
  /** From one lane number to the next. */
  readonly laneBytes: number;
  readonly lane: Readonly<Record<LaneSection, number>>;
  readonly shared: Readonly<Record<SharedSection, number>>;
  /** Lane numbers in the image of a channel at rest … */
  readonly imageCount: number;
  /** … and in everything that lasts from block to block. */
  readonly lastingCount: number;
  readonly bytes: number;
}

export function memoryLayout(structure: KernelStructure, laneBytes: number): MemoryLayout {
  const { states: n, controls, ports: m, currents: r, jacobianCount, factorCount, parameterCount, merged, shifted, topology } = structure;
  let at = 0;
  let image = 0;
  let lasting = 0;
  const places: Record<string, number> = {};
  const laneCounts: readonly (readonly [LaneSection, number])[] = [
    ['states', n], ['previousStates', n], ['portVolts', m], ['volts', merged ? controls : 0], ['currents', r], ['jacobian', jacobianCount], ['factors', factorCount],
    ['factored', 1], ['missed', m],
    ['samples', 1], ['evaluations', 1], ['rescues', 1], ['capHits', 1], ['nonFinite', 1], ['maximumEvaluations', 1],
    ['ports', m], ['step', m], ['limitedStep', m], ['startPortVolts', m], ['predicted', m], ['evaluationsNow', 1],
  ];
  for (const [section, count] of laneCounts) {
    places[section] = at;
    at += laneBytes * count;
    if (section === 'missed') image = at / laneBytes;
    if (section === 'maximumEvaluations') lasting = at / laneBytes;
  }
  // Where every control has a port of its own, v is x.
  if (!merged) places['volts'] = places['portVolts']!;
  const lane = places as Record<LaneSection, number>;
  const shared: Record<string, number> = {};
  const sharedCounts: readonly (readonly [SharedSection, number])[] = [
    ['tolerance', 1], ['restOutput', 1], ['inverseScale', m], ['freeStep', m],
    ['portConstants', m], ['portCoefficients', topology.portRows.columns.length], ['feedback', topology.feedbackRows.columns.length],
    ['updateConstants', n + 1], ['updateCoefficients', topology.updateRows.columns.length],
    ['controlOffsets', controls], ['parameters', parameterCount], ['shift', shifted ? jacobianCount : 0],
    ['junctionWidth', controls], ['junctionCritical', controls], ['longestStep', controls], ['restImage', image],
    ['wanted', m], ['solved', m], ['goodVolts', m], ['previousStep', m], ['matrix', m * m], ['rightSide', m], ['solution', m],
  ];
  for (const [section, count] of sharedCounts) {
    shared[section] = at;
    at += 8 * count;
  }
  return { laneBytes, lane, shared: shared as Record<SharedSection, number>, imageCount: image, lastingCount: lasting, bytes: roundedUp(at) };
}
