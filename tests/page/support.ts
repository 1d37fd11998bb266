/** A bench with a clock that is turned by hand. */
import { Bench } from '../../ui/page/bench.ts';
import { openingState } from '../../ui/page/opening.ts';
import type { Action, BenchState, HarmonicReadings, LoopEntry } from '../../ui/page/state.ts';

export const loops: readonly LoopEntry[] = [
  { identifier: 'clarinet', title: 'clarinet, bars 1–4', file: 'clarinet.wav', channels: 1, durationSeconds: 9.6 },
  { identifier: 'piano', title: 'piano, decaying notes', file: 'piano.wav', channels: 1, durationSeconds: 8 },
];

export function makeBench(initial: BenchState = openingState(loops)) {
  const clock = { ms: 0, nowMs: () => clock.ms, today: () => '2026-11-25' };
  const bench = new Bench(initial, clock);
  const value = (stageKey: string, parameter: string) => bench.state.setting.path.stages.find(({ key }) => key === stageKey)!.values[parameter];
  const set = (phase: Extract<Action, { kind: 'set-value' }>['phase'], to: number, stageKey = 's2', parameter = 'emitterOhms') =>
    bench.dispatch({ kind: 'set-value', stageKey, parameter, value: to, phase });
  /** How many times undo finds something. */
  const undoDepth = () => {
    let depth = 0;
    while (bench.state.live.canUndo) {
      bench.dispatch({ kind: 'undo' });
      depth += 1;
    }
    return depth;
  };
  return { bench, clock, value, set, undoDepth };
}

export function harmonicsAt(revision: number, h2Db = -60, change: Partial<HarmonicReadings> = {}): HarmonicReadings {
  return {
    revision, scope: 'path', frequencyHz: 200, levelDbu: 4, fundamentalDbu: 4, thdPercentF: 0.1, weightedPercent: 0.1, refusal: null,
    figures: [2, 3, 4, 5, 6, 7, 8, 9].map((order) => ({ order, db: order === 9 ? -Infinity : h2Db - 10 * (order - 2), signedRatio: 0, phaseDegrees: 0 })),
    ...change,
  };
}
