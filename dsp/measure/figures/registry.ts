import type { AnyFigureView } from './contract.ts';
import { harmonicsAgainstFrequency } from './harmonics-frequency.ts';
import { harmonicsAgainstLevel } from './harmonics-level.ts';
import { incrementalGain } from './incremental-gain.ts';
import { waveformAndResidual } from './waveform.ts';
import { intermodulationView } from './tones/intermodulation.ts';
import { multitoneView } from './tones/multitone.ts';
import { singleFiguresView } from './tones/single-figures.ts';
import { sweepHarmonicsView } from './tones/sweep-harmonics.ts';
import { lineDrivingView } from './line-driving.ts';
import { loopAddedView } from './loop-added.ts';
import { impedanceView } from './response/impedance.ts';
import { loopGainView } from './response/loop-gain.ts';
import { responseView } from './response/response.ts';
import { spectrumView } from './spectrum.ts';
import { biasShiftView } from './transients/bias-shift.ts';
import { recoveryView } from './transients/recovery.ts';
import { stepView } from './transients/step.ts';
import { whyView } from './why/why.ts';

/** All figures, in the order they are listed. A new one is one file and one line here. */
export const figureViews: readonly AnyFigureView[] = [
  harmonicsAgainstLevel,
  harmonicsAgainstFrequency,
  waveformAndResidual,
  incrementalGain,
  intermodulationView,
  multitoneView,
  singleFiguresView,
  sweepHarmonicsView,
  responseView,
  impedanceView,
  loopGainView,
  stepView,
  recoveryView,
  biasShiftView,
  lineDrivingView,
  loopAddedView,
  spectrumView,
  whyView,
];

/** Undefined: there is none of that name. */
export function figureViewById(id: string): AnyFigureView | undefined {
  return figureViews.find((view) => view.id === id);
}
