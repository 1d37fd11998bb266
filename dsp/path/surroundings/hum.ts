/** Hum that the balance of an input lets in. */
import { dbuToPeakVolts } from '../../stages/index.ts';
import type { StageValues } from '../../stages/index.ts';
import type { PlannedHum } from '../plan.ts';
import { noHumDbu } from './table.ts';

/** Harmonics of the mains beside the fundamental, as voltage ratios: odd ones 1/k from magnetised iron, even ones a third of that from rectifiers (common practice, no source). */
const spectrum: readonly { readonly order: number; readonly ratio: number }[] = Array.from({ length: 15 }, (_, k) => {
  const order = k + 1;
  return { order, ratio: (order % 2 === 1 ? 1 : 1 / 3) / order };
});

const number = (values: StageValues, id: string): number => values[id] as number;

/** The share of a voltage common to both legs that becomes signal, and the quarters of a cycle by which it leads. */
export interface CommonModeShare {
  readonly ratio: number;
  readonly quarters: 0 | 1;
}

/**
 * Conversion of common voltage to signal at a frequency (B. Whitlock, "Balanced lines in audio systems: fact, fiction, and transformers", Journal of the
 * Audio Engineering Society 43(6), 1995; formulas from memory). Unbalanced: all of it. Electronic: the difference of the source's legs
 * against the input's impedance to ground, and the mismatch of the input's own resistors, taken to add. Transformer: the same difference of legs
 * against the reactance of the capacitance between the windings, so that it rises 6 dB an octave and leads by a quarter; never more than all of it.
 */
export function commonModeShare(values: StageValues, hz: number): CommonModeShare {
  switch (values['balance']) {
    case 'unbalanced': return { ratio: 1, quarters: 0 };
    case 'electronic': return { ratio: Math.min(1, number(values, 'imbalanceOhms') / number(values, 'commonModeOhms') + number(values, 'resistorMatch')), quarters: 0 };
    default: return { ratio: Math.min(1, 2 * Math.PI * hz * number(values, 'windingFarads') * number(values, 'imbalanceOhms')), quarters: 1 };
  }
}

/** Null: none. */
export function humOf(values: StageValues): PlannedHum | null {
  const dbu = number(values, 'humDbu');
  if (dbu <= noHumDbu) return null;
  const fundamentalHz = Number(values['humHertz']);
  const peak = dbuToPeakVolts(dbu);
  return {
    fundamentalHz,
    parts: spectrum.map(({ order, ratio }) => {
      const share = commonModeShare(values, order * fundamentalHz);
      return { order, peakVolts: peak * ratio * share.ratio, quarters: share.quarters };
    }),
  };
}
