import { buildProgram, discreteResponse } from '../../dsp/circuit/index.ts';
import { exactCircuitResponse, pathResponse, points } from '../../dsp/measure/index.ts';
import type { ResponsePoint } from '../../dsp/measure/index.ts';
import { factsOf, figureViewById } from '../../dsp/measure/figures/index.ts';
import { planPath } from '../../dsp/path/index.ts';
import { readNumber, readWords } from './arguments.ts';
import type { Options, Words } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { figureOptions, figureOptionsHelp, giveFigure } from './figure-output.ts';
import { measureParts } from './figure-parts.ts';
import { figureSubjectOptions, readFigureSubject } from './figure-subject.ts';
import { Progress } from './progress.ts';
import { readSubject } from './subject.ts';
import type { Subject } from './subject.ts';
import { formatCsv, formatTable, print, printJson } from './table.ts';
import { readViewValues } from './view-values.ts';

export const responseHelp = `response  (--circuit FILE | --setting FILE) --frequencies 20,1000,20000 [--exact] [--rate 48000] [--oversampling 8] [--json|--csv]

Small-signal gain and phase at the operating point, from the input source to the output.
  --exact  of the analogue circuit; else as discretised at rate × oversampling

response  (--circuit FILE | --setting FILE [--stage N]) [--from 10] [--to 200k] [--per-octave 12] [--figure NAME] [--reference NAME] [--json|--csv] [--svg FILE]

The same as a figure, of the analogue circuit and as discretised, with slope, group delay, 3 dB points, peaks, undershoot.
  --from, --to, --per-octave  the frequencies
  --figure NAME     response (if absent), impedance (input and output), loop-gain (of stages with feedback)
  --reference NAME  one-kilohertz (if absent) or absolute; of the response
  --stage N         of the Nth stage by itself
${figureOptionsHelp}
Square waves, steps, recovery and bias: stagebench sweep step, sweep recovery, sweep bias-shift.`;

const options = {
  ...figureSubjectOptions,
  ...figureOptions,
  frequencies: { type: 'string' },
  exact: { type: 'boolean' },
  from: { type: 'string' },
  to: { type: 'string' },
  'per-octave': { type: 'string' },
  figure: { type: 'string' },
  reference: { type: 'string' },
} as const satisfies Options;

/** Options of the figure by the parameter they set. */
const optionOf = { fromHz: 'from', toHz: 'to' } as const;
const figures = ['response', 'impedance', 'loop-gain'] as const;
const ofFigures = ['from', 'to', 'per-octave', 'figure', 'reference', 'stage', 'svg', 'in'] as const;

export async function response(args: readonly string[]): Promise<number> {
  const words = readWords('response', args, options);
  if (words.text('frequencies') === undefined) return responseFigure(words);
  const stray = ofFigures.find((name) => words.text(name) !== undefined);
  if (stray !== undefined) throw new InputFailure(`response: --${stray} belongs to a figure, which takes no --frequencies`);
  const subject = await readSubject('response', words);
  const highestHz = (subject.kind === 'circuit' ? subject.internalRateHz : subject.baseRateHz * subject.setting.path.oversamplingFactor) / 2;
  const frequenciesHz = words.required('frequencies').split(',').map((written) => readNumber('--frequencies', written, 1e-3, words.flag('exact') ? 1e9 : highestHz));
  const found = pointsOf(subject, frequenciesHz, words.flag('exact'));
  const rows = found.map(({ hz, db, phaseDegrees }) => [String(hz), db.toFixed(4), phaseDegrees.toFixed(3)]);
  const headings = ['Hz', 'dB', 'degrees'];
  if (words.flag('json')) printJson({ points: found });
  else print(words.flag('csv') ? formatCsv(headings, rows) : formatTable(headings, rows));
  return exitCodes.good;
}

/** The documented form without its list of frequencies. */
async function responseFigure(words: Words): Promise<number> {
  const wanted = words.text('figure') ?? 'response';
  if (!figures.some((name) => name === wanted)) throw new InputFailure(`--figure: expected one of ${figures.join(', ')}, got ${wanted}`);
  if (words.flag('exact')) throw new InputFailure('response: --exact goes with --frequencies; a figure has both the analogue circuit and what runs');
  const view = figureViewById(wanted)!;
  if (words.text('reference') !== undefined && !view.parameters.some(({ id }) => id === 'reference')) throw new InputFailure(`response: --figure ${wanted} takes no --reference`);
  const subject = await readFigureSubject('response', words);
  const facts = factsOf(subject);
  const values = readViewValues(view, words, facts.path?.fullScaleDbu ?? 24, optionOf);
  const refusal = view.refuse(facts, values);
  if (refusal !== null) throw new InputFailure(refusal);
  const progress = new Progress(view.title);
  const found = await measureParts(view, { view: view.id, subject, values }, 1, (done) => progress.report(done)).finally(() => progress.done());
  await giveFigure(view.draw(facts, values, found), words);
  return exitCodes.good;
}

function pointsOf(subject: Subject, frequenciesHz: readonly number[], exact: boolean): ResponsePoint[] {
  if (subject.kind === 'setting') {
    const { path, joints } = subject.setting;
    return pathResponse(path, planPath(path, subject.baseRateHz, { grade: 'measuring', joints }), frequenciesHz, { exact });
  }
  if (exact) return exactCircuitResponse(subject.document, frequenciesHz);
  return points(frequenciesHz, discreteResponse(buildProgram(subject.document, { rateHz: subject.internalRateHz, rule: 'measuring' }), frequenciesHz));
}
