/** A blind comparison that has ended, as a file: what was compared, every trial, the result; and whether it agrees with itself. */
import { blindResult, BlindSession, mostExcerpts, requireBlindPlan, type AnsweredTrial, type BlindAnswer, type BlindLength, type BlindPlan, type BlindResult, type Side } from '../listening/index.ts';
import { comparedContent, readCompared, residualDisagreement, type Compared } from './compared.ts';
import { join, readBoolean, readList, readNumber, readOneOf, readRecord, readText, readWhole } from './fields.ts';
import { readDate } from './heard.ts';
import { readFileRecord, rethrown, sameJson } from './record-file.ts';
import { refuseField } from './setting-error.ts';

export const blindFormat = 'stagebench/blind-comparison';
const version = 2;
const mostTrials = 100_000;

export interface Excerpt {
  /** Of the listener's own; may be empty. */
  readonly name: string;
  readonly startSeconds: number;
  readonly endSeconds: number;
}

/** Under the one gain of the comparison. */
export interface MatchedExcerpt extends Excerpt {
  readonly residualDb: number;
}

export interface BlindComparison {
  /** ISO date. */
  readonly date: string;
  readonly compared: Compared;
  /** The listener's choice; empty: the region alone. */
  readonly excerpts: readonly MatchedExcerpt[];
  readonly plan: BlindPlan;
  readonly stopped: boolean;
  readonly trials: readonly AnsweredTrial[];
}

export function writeBlindComparison(comparison: BlindComparison): string {
  const { date, compared, excerpts, plan, stopped, trials } = comparison;
  return `${JSON.stringify({
    format: blindFormat, version, date, compared: comparedContent(compared),
    excerpts: excerpts.map(({ name, startSeconds, endSeconds, residualDb }) => ({ name, startSeconds, endSeconds, residualDb })),
    plan: planContent(plan), stopped, result: resultOf(comparison), trials: trials.map(trialContent),
  }, null, 2)}\n`;
}

export interface BlindComparisonFile {
  readonly comparison: BlindComparison;
  /** Reckoned anew from plan and trials. */
  readonly result: BlindResult;
  /** Sentences; empty where the file agrees with itself: checksums, trials that follow from the seed, hits, the end of the plan, the result. */
  readonly disagreements: readonly string[];
}

/** @throws SettingError where it is no such file */
export function parseBlindComparison(text: string): BlindComparisonFile {
  const file = readFileRecord(text, blindFormat, version, 'a blind comparison', ['date', 'compared', 'excerpts', 'plan', 'stopped', 'result', 'trials']);
  const { compared, disagreements } = readCompared(file['compared'], 'compared');
  const excerpts = readList(file['excerpts'], 'excerpts', mostExcerpts).map((entry, index) => readMatchedExcerpt(entry, `excerpts[${index}]`));
  const plan = readPlan(file['plan'], 'plan');
  const comparison: BlindComparison = {
    date: readDate(file['date'], 'date'), compared, excerpts, plan,
    stopped: readBoolean(file['stopped'], 'stopped'),
    trials: readList(file['trials'], 'trials', mostTrials).map((entry, index) => readTrial(entry, `trials[${index}]`, plan, Math.max(1, excerpts.length))),
  };
  const { complete, found } = replayed(comparison);
  const result = resultOf({ ...comparison, stopped: !complete });
  return {
    comparison, result,
    disagreements: [
      ...disagreements,
      ...excerpts.flatMap(({ residualDb }, index) => residualDisagreement(`excerpts[${index}].residualDb`, residualDb) ?? []),
      ...found,
      ...(sameJson(file['result'], result) ? [] : ['result: expected what plan and trials give, got another one']),
    ],
  };
}

/** A result is of the trials as they stand; whether these are those of the seed is asked apart. */
function resultOf({ plan, trials, stopped }: BlindComparison): BlindResult {
  return blindResult(plan, { trials, stopped, of: new BlindSession({ ...plan, training: 0 }).progress.of });
}

/** The comparison once more from its seed, with the answers given. `complete`: they carry the plan through, no more and no less. */
function replayed({ plan, trials, stopped }: BlindComparison): { readonly complete: boolean; readonly found: readonly string[] } {
  const session = new BlindSession({ ...plan, training: 0 });
  for (const [index, { answer }] of trials.entries()) {
    if (session.progress.phase === 'ended') return { complete: false, found: [`trials: expected ${index}, after which the plan ends, got ${trials.length}`] };
    session.answer(answer);
  }
  const complete = session.progress.phase === 'ended';
  session.stop();
  const found = session.ended()!.trials.flatMap((made, index) => {
    const [expected, given] = [made, trials[index]!].map(({ A, B, X, isNull, hit }) => JSON.stringify({ A, B, X, isNull, hit }));
    return expected === given ? [] : [`trials[${index}]: expected ${expected} by the seed and the answer, got ${given}`];
  });
  if (complete === stopped) found.push(stopped ? 'stopped: expected false, for the plan is carried through, got true' : `trials: expected more than ${trials.length} by the plan, or stopped true`);
  return { complete, found };
}

function readMatchedExcerpt(entry: unknown, where: string): MatchedExcerpt {
  const record = readRecord(entry, where, ['name', 'startSeconds', 'endSeconds', 'residualDb']);
  const startSeconds = readNumber(record['startSeconds'], join(where, 'startSeconds'), 0, 86_400);
  const endSeconds = readNumber(record['endSeconds'], join(where, 'endSeconds'), 0, 86_400);
  if (!(endSeconds > startSeconds)) refuseField(join(where, 'endSeconds'), `more than ${startSeconds} s`, endSeconds);
  return {
    name: readText(record['name'], join(where, 'name'), 100), startSeconds, endSeconds,
    residualDb: readNumber(record['residualDb'], join(where, 'residualDb'), -200, 200),
  };
}

function readPlan(entry: unknown, where: string): BlindPlan {
  const record = readRecord(entry, where, ['task', 'length', 'nullShare', 'training', 'seed']);
  const plan: BlindPlan = {
    task: readOneOf(record['task'], join(where, 'task'), ['identify', 'prefer']),
    length: readLength(record['length'], join(where, 'length')),
    nullShare: readNumber(record['nullShare'], join(where, 'nullShare'), 0, 1),
    training: readNumber(record['training'], join(where, 'training'), 0, 1000),
    seed: readNumber(record['seed'], join(where, 'seed'), -Number.MAX_SAFE_INTEGER, Number.MAX_SAFE_INTEGER),
  };
  rethrown(where, () => requireBlindPlan(plan));
  return plan;
}

function readLength(entry: unknown, where: string): BlindLength {
  const kind = readOneOf((entry as { readonly kind?: unknown } | null)?.kind, join(where, 'kind'), ['fixed', 'sequential']);
  if (kind === 'fixed') {
    const record = readRecord(entry, where, ['kind', 'trials', 'significance']);
    return { kind, trials: readNumber(record['trials'], join(where, 'trials'), 1, mostTrials), significance: readNumber(record['significance'], join(where, 'significance'), 0, 1) };
  }
  const fields = ['guessRate', 'heardRate', 'falseAlarm', 'miss', 'mostTrials'] as const;
  const record = readRecord((readRecord(entry, where, ['kind', 'plan']))['plan'], join(where, 'plan'), fields);
  const [guessRate, heardRate, falseAlarm, miss, most] = fields.map((field) => readNumber(record[field], `${where}.plan.${field}`, 0, 2000)) as [number, number, number, number, number];
  return { kind, plan: { guessRate, heardRate, falseAlarm, miss, mostTrials: most } };
}

function readTrial(entry: unknown, where: string, { task }: BlindPlan, excerptCount: number): AnsweredTrial {
  const record = readRecord(entry, where, ['A', 'B', 'X', 'isNull', 'answer', 'hit', 'listens', 'excerpts']);
  const side = (name: string): Side => readOneOf(record[name], join(where, name), [0, 1] as const);
  const listens = readRecord(record['listens'], join(where, 'listens'), ['A', 'B', 'X']);
  const count = (name: string): number => readWhole(listens[name], `${where}.listens.${name}`, 0, 1_000_000);
  return {
    A: side('A'), B: side('B'), X: record['X'] === null ? null : side('X'),
    isNull: readBoolean(record['isNull'], join(where, 'isNull')),
    answer: readOneOf<BlindAnswer>(record['answer'], join(where, 'answer'), task === 'identify' ? [1, 2] : [0, 1, 2]),
    hit: record['hit'] === null ? null : readBoolean(record['hit'], join(where, 'hit')),
    listens: { A: count('A'), B: count('B'), X: count('X') },
    excerpts: readList(record['excerpts'], join(where, 'excerpts'), excerptCount).map((number, index) => readWhole(number, `${where}.excerpts[${index}]`, 1, excerptCount)),
  };
}

function trialContent({ A, B, X, isNull, answer, hit, listens, excerpts }: AnsweredTrial): object {
  return { A, B, X, isNull, answer, hit, listens: { A: listens.A, B: listens.B, X: listens.X }, excerpts };
}

function planContent({ task, length, nullShare, training, seed }: BlindPlan): object {
  return { task, length: lengthContent(length), nullShare, training, seed };
}

function lengthContent(length: BlindLength): object {
  if (length.kind === 'fixed') return { kind: length.kind, trials: length.trials, significance: length.significance };
  const { guessRate, heardRate, falseAlarm, miss, mostTrials: most } = length.plan;
  return { kind: length.kind, plan: { guessRate, heardRate, falseAlarm, miss, mostTrials: most } };
}
