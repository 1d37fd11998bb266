/** The spectrum of whatever plays; where nothing plays live, of the loop through the path. */
import type { ChoiceParameter, NumberParameter, Parameter, StageValues } from '../../stages/index.ts';
import { playRound } from '../loop/index.ts';
import { SpectrumMeter, spectrumSizes, spectrumWindows, type SpectrumAveraging, type SpectrumSettings, type SpectrumWindow } from '../spectrum-meter.ts';
import { spectrumPoints, type SpectrumPoints } from '../spectrum-points.ts';
import { figureView } from './contract.ts';
import { planAtRate } from './plan-at-rate.ts';
import { drawSpectrum } from './spectrum-drawing.ts';

const choice = (id: string, label: string, shortLabel: string, standard: string, options: readonly (readonly [string, string])[], help: string): ChoiceParameter => ({
  kind: 'choice', id, label, shortLabel, spokenLabel: label, default: standard, options: options.map(([option, words]) => ({ id: option, label: words })), help,
});

const windowWords: Readonly<Record<SpectrumWindow, string>> = { rectangular: 'rectangular', hann: 'Hann', 'blackman-harris': 'Blackman–Harris', 'flat-top': 'flat top' };

const averages: NumberParameter = {
  kind: 'number', id: 'averages', label: 'transforms averaged', shortLabel: 'averaged', spokenLabel: 'transforms averaged', quantity: 'ratio', unit: '',
  minimum: 1, maximum: 256, default: 8, taper: 'logarithmic', step: 1, help: 'Of exponential averaging: each new transform weighs one in so many.',
};

/** All that can be asked of it. */
export const spectrumParameters: readonly Parameter[] = [
  choice('tapped', 'taken at', 'taken at', 'output', [['output', 'output'], ['input', 'input']], 'The path’s output with the switch and its match, before monitor level and limiter; or the source as it goes in.'),
  choice('size', 'samples in a transform', 'samples', '16384', spectrumSizes.map((size) => [String(size), String(size)] as const), 'More samples set tones further apart and follow more slowly.'),
  choice('window', 'window', 'window', 'blackman-harris', spectrumWindows.map((window) => [window, windowWords[window]] as const), 'Flat top reads the level of a tone wherever it lies, Blackman–Harris shows weak tones beside strong ones, Hann parts near ones, rectangular is for tones of whole periods.'),
  choice('averaging', 'averaging', 'averaging', 'exponential', [['none', 'none'], ['exponential', 'exponential'], ['linear', 'all that played']], 'Of powers, so that noise comes to rest at its own level.'),
  averages,
  choice('held', 'peaks held', 'held', 'off', [['off', 'off'], ['on', 'on']], 'Also shows the most that each line has come to since it began.'),
  choice('bands', 'shown by', 'shown by', 'lines', [['lines', 'lines'], ['third-octave', 'third octaves']], 'Lines of the transform, or their sums in third octaves.'),
  choice('reading', 'read as', 'read as', 'level', [['level', 'level of a tone'], ['density', 'density']], 'Level: a tone reads its own level. Density: noise reads its own, in 1 Hz, whatever the window.'),
  choice('unit', 'unit', 'unit', 'dbfs', [['dbfs', 'dBFS'], ['dbu', 'dBu']], 'A sine of full scale is 0 dBFS; the calibration says what that is in dBu.'),
];

/** Of the meter, for what comes in so. */
export function spectrumSettings(values: StageValues, rateHz: number, channels: 1 | 2): SpectrumSettings {
  return {
    rateHz, channels, size: Number(values['size']) as SpectrumSettings['size'], window: values['window'] as SpectrumWindow,
    averaging: values['averaging'] as SpectrumAveraging, averages: values['averages'] as number,
  };
}

/** Samples done between two yields: a transform takes some milliseconds at the most. */
const stepFrames = 4096;

export const spectrumView = figureView<null, SpectrumPoints>({
  id: 'spectrum',
  title: 'Spectrum of what plays',
  help: 'Levels over frequency of what plays, at the path’s output or input, with the window, the averaging and the reading that is asked for.',
  parameters: spectrumParameters,
  needs: 'programme',
  grade: 'listening',
  live: true,
  refuse: () => null,
  split: () => [null],
  * measure({ plan, programme, scope }, values) {
    if (scope.kind === 'stage') throw new RangeError('Spectrum of what plays: expected the whole path, for that is what plays, got a stage alone.');
    if (programme === null || programme.frames === 0) throw new RangeError('Spectrum of what plays: expected a loop, got none; choose one, or let it play.');
    const { channels, rateHz, frames } = programme;
    let heard = channels;
    if (values['tapped'] === 'output') {
      const round = playRound(planAtRate(plan, rateHz), channels);
      let step = round.next();
      while (!step.done) {
        yield undefined;
        step = round.next();
      }
      heard = step.value.channels;
    }
    const settings = spectrumSettings(values, rateHz, channels.length === 2 ? 2 : 1);
    const meter = new SpectrumMeter(settings);
    // Once round; a short loop as often as one transform asks for.
    const wanted = frames * Math.ceil(settings.size / frames);
    for (let done = 0; done < wanted;) {
      const at = done % frames;
      const count = Math.min(stepFrames, frames - at);
      meter.push(heard.map((channel) => channel.subarray(at, at + count)), count);
      done += count;
      yield undefined;
    }
    return spectrumPoints(meter, 'loop');
  },
  draw: (facts, values, [points]) => drawSpectrum(facts, values, points),
});
