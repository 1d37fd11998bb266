/** The setting a newcomer meets. */
import { defaultValues, openingPath, stageById } from '../stages/index.ts';
import type { Setting } from './contract.ts';

/**
 * Single-ended stage, push-pull stage, harmonic shaping, the push-pull stage's quiescent current so low that its crossover is plainly heard on
 * decaying piano and plainly seen in H5, H7 and H9.
 */
export function openingSetting(): Setting {
  return {
    title: 'village hall, first look',
    notes: [],
    baseRateHz: 48_000,
    levelMatch: null,
    rules: null,
    joints: null,
    path: {
      oversamplingFactor: 8,
      ladder: 'linear-phase',
      fullScaleDbu: 24,
      surroundings: null,
      supply: null,
      stages: openingPath().map(({ stage, inCircuit, values }, index) => ({
        key: `s${index + 1}`,
        stage,
        inCircuit,
        reversed: false,
        joined: false,
        values: { ...defaultValues(stageById(stage)), ...values },
      })),
    },
  };
}
