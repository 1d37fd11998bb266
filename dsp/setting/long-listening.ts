/** A long listening as a file, under way or revealed: what is compared, the plan, every sitting; and whether it agrees with itself. */
import { highestRating, longQuestions, longResult, lowestRating, mostPairs, requireLongPlan, type LongPlan, type LongResult, type SittingLog } from '../listening/index.ts';
import { comparedContent, readCompared, type Compared } from './compared.ts';
import { join, readBoolean, readList, readNumber, readOneOf, readRecord, readText, readWhole } from './fields.ts';
import { isDate } from './dates.ts';
import { readDate } from './heard.ts';
import { readFileRecord, rethrown, sameJson } from './record-file.ts';
import { refuseField } from './setting-error.ts';

export const longListeningFormat = 'stagebench/long-listening';
const version = 1;

/** Written into every file, word for word. */
export const concealmentWords = 'The order of the sides follows from the seed. It is shown nowhere before the end, but it is concealed, not encrypted: whoever runs the bench\'s own code on this seed can find it out.';

export interface LongListening {
  /** ISO date of the plan. */
  readonly date: string;
  readonly compared: Compared;
  readonly plan: LongPlan;
  readonly sittings: readonly SittingLog[];
  /** Sittings that were begun and left without a word; the same side was heard anew. */
  readonly brokenOff: number;
  /** ISO date on which the sides were revealed; null: it goes on. */
  readonly ended: string | null;
}

export function writeLongListening(listening: LongListening): string {
  const { date, compared, plan: { pairs, question, significance, seed }, sittings, brokenOff, ended } = listening;
  return `${JSON.stringify({
    format: longListeningFormat, version, date, concealment: concealmentWords, compared: comparedContent(compared), plan: { pairs, question, significance, seed },
    ended, brokenOff, result: resultOf(listening),
    sittings: sittings.map(({ began, heardSeconds, toTheEnd, ease, fatigue, believed, noIdea, words }) => ({ began, heardSeconds, toTheEnd, ease, fatigue, believed, noIdea, words })),
  }, null, 2)}\n`;
}

export interface LongListeningFile {
  readonly listening: LongListening;
  /** Reckoned anew; null before the end. */
  readonly result: LongResult | null;
  /** Sentences; empty where the file agrees with itself. */
  readonly disagreements: readonly string[];
}

/** @throws SettingError where it is no such file */
export function parseLongListening(text: string): LongListeningFile {
  const file = readFileRecord(text, longListeningFormat, version, 'a long listening', ['date', 'concealment', 'compared', 'plan', 'ended', 'brokenOff', 'result', 'sittings']);
  readOneOf(file['concealment'], 'concealment', [concealmentWords]);
  const { compared, disagreements } = readCompared(file['compared'], 'compared');
  const plan = readPlan(file['plan'], 'plan');
  const listening: LongListening = {
    date: readDate(file['date'], 'date'), compared, plan,
    sittings: readList(file['sittings'], 'sittings', 2 * plan.pairs).map((entry, index) => readSitting(entry, `sittings[${index}]`)),
    brokenOff: readWhole(file['brokenOff'], 'brokenOff', 0, 100_000),
    ended: file['ended'] === null ? null : readDate(file['ended'], 'ended'),
  };
  const result = resultOf(listening);
  return {
    listening, result,
    disagreements: [...disagreements, ...(sameJson(file['result'], result) ? [] : [`result: expected ${result === null ? 'null before the end' : 'what plan and sittings give'}, got another one`])],
  };
}

/** Null before the end: nothing of the sides is said. */
function resultOf({ plan, sittings, compared, brokenOff, ended }: LongListening): LongResult | null {
  return ended === null ? null : longResult(plan, sittings, compared.names, brokenOff);
}

function readPlan(entry: unknown, where: string): LongPlan {
  const record = readRecord(entry, where, ['pairs', 'question', 'significance', 'seed']);
  const plan: LongPlan = {
    pairs: readNumber(record['pairs'], join(where, 'pairs'), 1, mostPairs),
    question: readOneOf(record['question'], join(where, 'question'), longQuestions),
    significance: readNumber(record['significance'], join(where, 'significance'), 0, 1),
    seed: readNumber(record['seed'], join(where, 'seed'), -Number.MAX_SAFE_INTEGER, Number.MAX_SAFE_INTEGER),
  };
  rethrown(where, () => requireLongPlan(plan));
  return plan;
}

function readSitting(entry: unknown, where: string): SittingLog {
  const record = readRecord(entry, where, ['began', 'heardSeconds', 'toTheEnd', 'ease', 'fatigue', 'believed', 'noIdea', 'words']);
  const began = readText(record['began'], join(where, 'began'), 16);
  if (!/T(?:[01]\d|2[0-3]):[0-5]\d$/.test(began) || !isDate(began.slice(0, 10)) || began.length !== 16) refuseField(join(where, 'began'), 'a date and time such as 2026-11-26T20:15', began);
  const rating = (name: string): number => readWhole(record[name], join(where, name), lowestRating, highestRating);
  return {
    began,
    heardSeconds: readNumber(record['heardSeconds'], join(where, 'heardSeconds'), 0, 1_000_000),
    toTheEnd: readBoolean(record['toTheEnd'], join(where, 'toTheEnd')),
    ease: rating('ease'), fatigue: rating('fatigue'),
    believed: readOneOf(record['believed'], join(where, 'believed'), [0, 1] as const),
    noIdea: readBoolean(record['noIdea'], join(where, 'noIdea')),
    words: readText(record['words'], join(where, 'words'), 10_000),
  };
}
