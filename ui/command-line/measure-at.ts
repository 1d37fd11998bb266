import { measurePath, probePeakVolts } from '../../dsp/measure/index.ts';
import { planPath } from '../../dsp/path/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';

export interface Tone {
  readonly frequencyHz: number;
  readonly levelDbu: number;
}

/** Harmonics of the whole path of a setting for one steady tone, as exactly as the bench measures. */
export function measureAt({ path, baseRateHz, joints }: Setting, { frequencyHz, levelDbu }: Tone, orders: readonly number[]) {
  return measurePath(planPath(path, baseRateHz, { grade: 'measuring', joints }), { frequencyHz, peakVolts: probePeakVolts(levelDbu), scope: { kind: 'path' }, orders });
}
