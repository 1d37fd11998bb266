/** How a harmonic's figures are written. Pure. */
import { judgeOrder } from '../../../dsp/measure/index.ts';
import { numericalFloorDb, writeDb } from '../../documents/harmonic-words.ts';
import type { HarmonicFigure } from '../state.ts';

/** Bars run from here to 0 dB re the fundamental. */
export const barFloorDb = -140;

/** Share of the bar's length, 0–1; 0 where no bar is drawn. */
export function barShare(db: number): number {
  if (!(db > barFloorDb)) return 0;
  return Math.min(1, (db - barFloorDb) / -barFloorDb);
}

/** "+, 12°": the sign of the ratio and the phase of a cosine drive. */
export function writePhase(figure: HarmonicFigure): string {
  if (!(figure.db >= numericalFloorDb)) return '–';
  const degrees = Math.round(figure.phaseDegrees);
  return `${figure.signedRatio < 0 ? '−' : '+'}, ${degrees < 0 ? '−' : ''}${Math.abs(degrees)}°`;
}

/** "H2 −62, H3 −78, worst harsh H5 −96": the whole ledger in one line. */
export function ledgerLine(figures: readonly HarmonicFigure[]): string {
  const leading = figures.filter(({ order }) => order <= 3).map((figure) => `H${figure.order} ${writeDb(figure.db, 0)}`);
  const harsh = figures.filter(({ order, db }) => judgeOrder(order).judgement === 'harsh' && db >= numericalFloorDb);
  const worst = harsh.length === 0 ? null : harsh.reduce((most, figure) => (figure.db > most.db ? figure : most));
  return [...leading, worst ? `worst harsh H${worst.order} ${writeDb(worst.db, 0)}` : 'no harsh order above −160'].join(', ');
}
