import { buildProgram, discreteResponse } from '../../dsp/circuit/index.ts';
import { exactCircuitResponse, pathResponse, points } from '../../dsp/measure/index.ts';
import type { ResponsePoint } from '../../dsp/measure/index.ts';
import { planPath } from '../../dsp/path/index.ts';
import { readNumber, readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes } from './failure.ts';
import { readSubject, subjectOptions } from './subject.ts';
import type { Subject } from './subject.ts';
import { formatCsv, formatTable, print, printJson } from './table.ts';

export const responseHelp = `response  (--circuit FILE | --setting FILE) --frequencies 20,1000,20000 [--exact] [--rate 48000] [--oversampling 8] [--json|--csv]

Small-signal gain and phase at the operating point, from the input source to the output.
  --exact  of the analogue circuit; else as discretised at rate × oversampling`;

const options = {
  ...subjectOptions,
  frequencies: { type: 'string' },
  exact: { type: 'boolean' },
  json: { type: 'boolean' },
  csv: { type: 'boolean' },
} as const satisfies Options;

export async function response(args: readonly string[]): Promise<number> {
  const words = readWords('response', args, options);
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

function pointsOf(subject: Subject, frequenciesHz: readonly number[], exact: boolean): ResponsePoint[] {
  if (subject.kind === 'setting') {
    const { path, joints } = subject.setting;
    return pathResponse(path, planPath(path, subject.baseRateHz, { grade: 'measuring', joints }), frequenciesHz, { exact });
  }
  if (exact) return exactCircuitResponse(subject.document, frequenciesHz);
  return points(frequenciesHz, discreteResponse(buildProgram(subject.document, { rateHz: subject.internalRateHz, rule: 'measuring' }), frequenciesHz));
}
