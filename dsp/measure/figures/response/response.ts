/** Small-signal response: magnitude, slope, phase and group delay, of the analogue circuit and as it runs. */
import { makeParameter, type StageValues } from '../../../stages/index.ts';
import { figureView, type FigureFacts } from '../contract.ts';
import { internalRateHz, refuseScope } from '../tone.ts';
import { hertz } from '../words.ts';
import { frequencies, responseCurve, type ResponseCurve } from './curve.ts';
import { drawResponse } from './draw-response.ts';
import { analogueOf, piecesOf, runningOf } from './pieces.ts';
import { readOuts, type ResponsePoints } from './read-outs.ts';

type ResponsePart = 'analogue' | 'running';

interface ResponseRange {
  readonly fromHz: number;
  readonly toHz: number;
  readonly perOctave: number;
}

export const rangeParameters = [
  makeParameter.frequency({ id: 'fromHz', label: 'lowest frequency', shortLabel: 'from', range: [0.1, 100_000], default: 10, help: 'Where the curve begins.' }),
  makeParameter.frequency({ id: 'toHz', label: 'highest frequency', shortLabel: 'to', range: [1, 10_000_000], default: 200_000, help: 'Where the curve ends; what runs ends at half the internal rate.' }),
  makeParameter.ratio({ id: 'perOctave', label: 'points per octave', shortLabel: 'points/oct.', range: [1, 96], default: 12, help: 'How closely the frequencies stand.' }, 1, 'linear'),
] as const;

export function rangeOf(values: StageValues): ResponseRange {
  return { fromHz: Number(values['fromHz']), toHz: Number(values['toHz']), perOctave: Math.round(Number(values['perOctave'])) };
}

export function refuseRange(values: StageValues): string | null {
  const { fromHz, toHz } = rangeOf(values);
  return fromHz < toHz ? null : `Frequencies: expected a highest above the lowest, got ${hertz(fromHz)} to ${hertz(toHz)}.`;
}

/** What is discretised has no response from half the internal rate on; it is shown to just below. */
const highestShare = 0.4999;

/** Those of the range's frequencies that what runs has, and its own last one; empty where the range begins above half the internal rate. */
function runningHertz(facts: FigureFacts, { fromHz, toHz, perOctave }: ResponseRange): readonly number[] {
  const mostHz = highestShare * internalRateHz(facts);
  const all = frequencies(fromHz, toHz, perOctave);
  const below = all.filter((hz) => hz < mostHz);
  return below.length === 0 || below.length === all.length ? below : [...below, mostHz];
}

export const responseView = figureView<ResponsePart, ResponsePoints>({
  id: 'response',
  title: 'Frequency response',
  help: 'What a small signal meets: level, steepness in decibels per octave, phase and delay over frequency, of the analogue circuit and as it runs.',
  parameters: [
    ...rangeParameters,
    makeParameter.choice({ id: 'reference', label: 'level', shortLabel: 'level', options: [['one-kilohertz', 're 1 kHz'], ['absolute', 'as it is']], default: 'one-kilohertz', help: 'Whether level is referred to that of 1 kHz or given as output over input.' }),
  ],
  refuse: (facts, values) => refuseRange(values) ?? refuseScope(facts),
  split: () => ['analogue', 'running'],
  * measure(subject, values, part) {
    const pieces = piecesOf(subject);
    const range = rangeOf(values);
    const transfer = part === 'analogue' ? yield* analogueOf(subject, pieces) : runningOf(pieces);
    yield undefined;
    const hz = part === 'analogue' ? frequencies(range.fromHz, range.toHz, range.perOctave) : runningHertz(subject, range);
    if (transfer === null || hz.length === 0) return { curve: null, readOuts: null };
    const steps = responseCurve(transfer, hz);
    let step = steps.next();
    let come = 0;
    while (!step.done) {
      come += 1;
      // A drawing of a few points more is not worth its time.
      yield come % pointsBetweenDrawings === 0 ? { curve: copyOf(step.value), readOuts: null } : undefined;
      step = steps.next();
    }
    return { curve: step.value, readOuts: yield* readOuts(transfer, step.value) };
  },
  draw: drawResponse,
});

const pointsBetweenDrawings = 48;

const copyOf = ({ hz, db, dbPerOctave, phaseDegrees, groupDelaySeconds }: ResponseCurve): ResponseCurve => ({
  hz: [...hz], db: [...db], dbPerOctave: [...dbPerOctave], phaseDegrees: [...phaseDegrees], groupDelaySeconds: [...groupDelaySeconds],
});
