/** What is on the bench when it is opened for the first time: three stages, the middle one with a fault to be heard and mended by one value. */
import type { StageValues } from './contract.ts';
import { stageById } from './registry.ts';
import { resolveValues } from './resolve-values.ts';

export interface OpeningStage {
  readonly stage: string;
  readonly inCircuit: boolean;
  readonly values: StageValues;
}

/** So low that the crossover's H5, H7 and H9 stand far above −80 dB at +4 dBu, 200 Hz; its default takes each down by more than 20 dB. */
const openingQuiescentAmperes = 150e-6;

/**
 * Single-ended, push-pull with too little quiescent current, shaping; every value complete. The shaping's second is negative since the single-ended stage
 * inverts: a positive one would cancel that stage's own second to −87 dB.
 */
export function openingPath(): readonly OpeningStage[] {
  const opened = (id: string, given: Record<string, number | string> = {}): OpeningStage =>
    ({ stage: id, inCircuit: true, values: resolveValues(stageById(id), given) });
  return [opened('single-ended-bipolar'), opened('push-pull', { quiescentAmperes: openingQuiescentAmperes }), opened('harmonic-shaping', { secondSign: 'negative' })];
}
