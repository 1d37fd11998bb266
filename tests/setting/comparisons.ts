/** Comparisons by ear as files have them, made by listeners of our own. */
import { BlindSession, sittingSides, type BlindPlan, type LongPlan, type SittingLog } from '../../dsp/listening/index.ts';
import { freezeSetting, openingSetting, type BlindComparison, type Compared, type LongListening } from '../../dsp/setting/index.ts';

export const compared: Compared = {
  what: 'whole path', names: ['in circuit', 'out of circuit'], onTrial: 'path', programme: { title: 'clarinet, bars 1–4', identifier: 'clarinet', sha256: null, rateHz: 48_000, trimDb: 0 },
  region: { startSeconds: 0.5, endSeconds: 3 }, levelMatch: { inGainDb: -1.84, outGainDb: 0, residualDb: 0.02 }, setting: freezeSetting(openingSetting()), secondSetting: null,
};

export const blindPlan: BlindPlan = { task: 'identify', length: { kind: 'fixed', trials: 8, significance: 0.05 }, nullShare: 0.2, training: 3, seed: 20261126 };

/** A listener who hears in all but the first `guessed` trials, and leaves after `leavesAfter`. */
export function blindComparison(given: Partial<BlindPlan> = {}, { leavesAfter = Infinity, wrong = 0 } = {}): BlindComparison {
  const plan: BlindPlan = { ...blindPlan, ...given };
  const session = new BlindSession({ ...plan, training: 0 }, 2);
  for (let trial = 0; session.progress.phase !== 'ended'; trial += 1) {
    if (trial === leavesAfter) session.stop();
    else {
      session.choose(1 + (trial % 2));
      const A = session.hear('A');
      const isA = plan.task === 'prefer' ? A === 0 : session.hear('X') === A;
      session.answer(isA === trial >= wrong ? 1 : 2);
    }
  }
  const { trials, stopped } = session.ended()!;
  return {
    date: '2026-11-26', compared, plan, trials, stopped,
    excerpts: [{ name: 'attack', startSeconds: 0.5, endSeconds: 1, residualDb: -0.03 }, { name: '', startSeconds: 2, endSeconds: 3, residualDb: 0.03 }],
  };
}

export const longPlan: LongPlan = { pairs: 7, question: 'ease', significance: 0.05, seed: 12 };

/** A listener for whom side 0 is a step easier; so many sittings done. */
export function longListening(ended: string | null, sittings = 14, plan = longPlan): LongListening {
  const logs = sittingSides(plan).slice(0, sittings).map((side, sitting): SittingLog => ({
    began: `2026-11-${String(1 + sitting).padStart(2, '0')}T20:15`, heardSeconds: 1800.5, toTheEnd: sitting !== 3, ease: side === 0 ? 5 : 4, fatigue: 3, believed: side, noIdea: sitting === 0, words: 'the bass stays calm',
  }));
  return { date: '2026-11-01', compared, plan, sittings: logs, brokenOff: ended === null ? 0 : 1, ended };
}
