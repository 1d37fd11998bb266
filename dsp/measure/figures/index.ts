// Figures: what is drawn and tabled of a path's measurements.
export {
  figureView, type AnyFigureView, type Figure, type FigureAxis, type FigureCell, type FigureColumn, type FigureFacts, type FigureMark, type FigurePanel, type FigureProgramme, type FigureSubject,
  type FigureTable, type FigureTrace,
} from './contract.ts';
export { figureViewById, figureViews } from './registry.ts';
export { figureInSteps } from './run.ts';
export { factsOf, factsOfSetting, subjectOfDocument, subjectOfSetting } from './subject.ts';
export { coherentTone, harmonicsOf, refuseFrequency, refuseScope, scopeWords, sweepTone } from './tone.ts';
export { spectrumSettings } from './spectrum.ts';
export { recordedDistortion, recordedIntermodulation, type RecordedSignal } from './tones/recorded.ts';
