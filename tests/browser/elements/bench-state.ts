/** A bench as the elements are given it: the stages named, all at their defaults. */
import { defaultValues, stageById } from '../../../dsp/stages/index.ts';
import { openingState } from '../../../ui/page/opening.ts';
import type { BenchState, HarmonicReadings, LiveState, SessionState } from '../../../ui/page/state.ts';

export interface Wanted {
  readonly stages?: readonly string[];
  readonly session?: Partial<SessionState>;
  readonly live?: Partial<LiveState>;
}

export function benchState({ stages, session, live }: Wanted = {}): BenchState {
  const opening = openingState([]);
  const path = stages === undefined ? opening.setting.path : {
    ...opening.setting.path,
    stages: stages.map((stage, index) => ({ key: `s${index + 1}`, stage, inCircuit: true, reversed: false, joined: false, values: defaultValues(stageById(stage)) })),
  };
  return {
    setting: { ...opening.setting, path },
    session: { ...opening.session, openStageKey: path.stages[0]!.key, ...session },
    live: { ...opening.live, ...live },
  };
}

/** Readings of a made-up circuit: decibels of H2 to H10. */
export function readingsOf(decibels: readonly number[], more: Partial<HarmonicReadings> = {}): HarmonicReadings {
  return {
    revision: 0, scope: 'path', frequencyHz: 200, levelDbu: 4, fundamentalDbu: 3.9, thdPercentF: 0.0788, weightedPercent: 0.0812, refusal: null,
    figures: decibels.map((db, index) => ({ order: index + 2, db, signedRatio: (index % 2 ? -1 : 1) * 10 ** (db / 20), phaseDegrees: 31 * index - 100 })),
    ...more,
  };
}
