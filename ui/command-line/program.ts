import { buildProgram } from '../../dsp/circuit/index.ts';
import type { Grade, IntegrationRule } from '../../dsp/circuit/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { explainProgram } from './program-report.ts';
import { programText } from './program-text.ts';
import { readSubject, subjectOptions } from './subject.ts';
import { print, printJson } from './table.ts';

export const programHelp = `program   --circuit FILE [--rate 48000] [--oversampling 8] [--rule RULE] [--volts 0.1] [--json]

Each step from a component list to the code that runs it, with its numbers: equations, operating point, matrix of one step, ports, rows, one
sample solved, the kernel's memory and code.
  --rule   T1, T12 or T24 (with a core: one run at the same finest step), or the grade that is to choose one: listening (the default) or measuring
  --volts  input of the sample that is solved, from rest`;

const { circuit, rate, oversampling } = subjectOptions;
const options = { circuit, rate, oversampling, rule: { type: 'string' }, volts: { type: 'string' }, json: { type: 'boolean' } } as const satisfies Options;

const rules: readonly (IntegrationRule | Grade)[] = ['T1', 'T12', 'T24', 'listening', 'measuring'];

export async function program(args: readonly string[]): Promise<number> {
  const words = readWords('program', args, options);
  words.required('circuit');
  const subject = await readSubject('program', words);
  if (subject.kind !== 'circuit') throw new InputFailure('program: expected --circuit FILE');
  const written = words.text('rule') ?? 'listening';
  const rule = rules.find((known) => known === written);
  if (rule === undefined) throw new InputFailure(`--rule: expected one of ${rules.join(', ')}, got ${written}`);
  const inputVolts = words.number('volts', { minimum: -1e6, maximum: 1e6, otherwise: 0.1 });
  const built = buildProgram(subject.document, { rateHz: subject.internalRateHz, rule });
  const report = explainProgram(subject.document, built, inputVolts);
  if (words.flag('json')) printJson(report);
  else print(programText(report));
  return exitCodes.good;
}
