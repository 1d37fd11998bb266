/** What a figure is measured of, from the words of a command: a setting or one of its stages, or a circuit document; with a recording where one is given. */
import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import type { Grade } from '../../dsp/circuit/index.ts';
import { subjectOfDocument, subjectOfSetting } from '../../dsp/measure/figures/index.ts';
import type { FigureFacts, FigureProgramme, FigureSubject } from '../../dsp/measure/figures/index.ts';
import type { PathSetting } from '../../dsp/path/index.ts';
import { parseWholeRecording } from '../../dsp/recording/index.ts';
import type { Words } from './arguments.ts';
import { InputFailure } from './failure.ts';
import { readSubject, subjectOptions } from './subject.ts';

export const figureSubjectOptions = { ...subjectOptions, stage: { type: 'string' }, in: { type: 'string' } } as const;

/** @param grade that of the view. @throws InputFailure, or what is wrong with a file */
export async function readFigureSubject(verb: string, words: Words, grade: Grade = 'measuring'): Promise<FigureSubject> {
  const subject = await readSubject(verb, words);
  const programme = words.text('in') === undefined ? null : await readProgramme(words.required('in'));
  const stage = words.text('stage');
  if (subject.kind === 'circuit') {
    if (stage !== undefined) throw new InputFailure('--stage: expected --setting FILE, got a circuit document, which is one stage');
    return subjectOfDocument(subject.document, subject.internalRateHz, programme, grade);
  }
  const { setting: { path, joints }, baseRateHz } = subject;
  return subjectOfSetting({ path, joints, baseRateHz, scope: stage === undefined ? { kind: 'path' } : scopeOf(path, stage), programme, grade });
}

/** By its place in the path, or by the key that the bench has given it. */
function scopeOf({ stages }: PathSetting, written: string): FigureFacts['scope'] {
  const found = stages.find(({ key }, index) => written === String(index + 1) || written === key);
  if (!found) throw new InputFailure(`--stage: expected a number from 1 to ${stages.length}, got ${written}`);
  return { kind: 'stage', key: found.key };
}

async function readProgramme(path: string): Promise<FigureProgramme> {
  const bytes = await readFile(path);
  try {
    const { format, channels } = parseWholeRecording(bytes);
    return { title: basename(path), rateHz: format.rateHz, channels };
  } catch (error) {
    throw error instanceof Error && error.name === 'RecordingError' ? new InputFailure(`${path}: ${error.message}`) : error;
  }
}
