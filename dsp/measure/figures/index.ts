// Figures: what is drawn and tabled of a path's measurements.
export {
  figureView, type AnyFigureView, type Figure, type FigureAxis, type FigureCell, type FigureColumn, type FigureFacts, type FigureMark, type FigurePanel, type FigureProgramme, type FigureSubject,
  type FigureTable, type FigureTrace, type FigureView,
} from './contract.ts';
export { figureViewById, figureViews } from './registry.ts';
export { figureInSteps } from './run.ts';
export { documentKey, factsOf, factsOfSetting, subjectOfCircuit, subjectOfDocument, subjectOfSetting, type SettingRequest } from './subject.ts';
export {
  coherentTone, harmonicsOf, internalRateHz, NoSteadyState, nothingYet, oscillation, plannedIndex, refuseFrequency, refuseScope, scopeWords, stageName, steadyTone, sweepTone, toneFigures, type SteadyToneOptions, type Tone, type ToneHarmonics, type ToneSteady,
} from './tone.ts';
export { spectrumSettings } from './spectrum.ts';
export { recordedDistortion, recordedIntermodulation, type RecordedSignal } from './tones/recorded.ts';
