/** `blind`: what a record of a blind comparison says, reckoned anew from its trials. */
import type { AnsweredTrial, BlindPlan } from '../../dsp/listening/index.ts';
import { maximumRecordLength, parseBlindComparison } from '../../dsp/setting/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { comparedLines, disagreementLines } from './compared-lines.ts';
import { exitCodes } from './failure.ts';
import { plain } from './plain.ts';
import { readRecordFile } from './record-text.ts';
import { formatTable, print, printJson } from './table.ts';

export const blindHelp = `blind     RECORD.json [--json]

The result of a blind comparison, reckoned anew from its record: the trials are made again from the seed, hits and statistics from the answers, checksums of the settings from their text.
Exit code 1 where the record does not agree with itself.`;

const options = { json: { type: 'boolean' } } as const satisfies Options;

export async function blind(args: readonly string[]): Promise<number> {
  const words = readWords('blind', args, options, 1);
  const { comparison, result, disagreements } = await readRecordFile(words.positionals[0]!, 'a blind comparison', maximumRecordLength, parseBlindComparison);
  const { compared, plan, trials, excerpts } = comparison;
  const agrees = disagreements.length === 0;
  if (words.flag('json')) {
    const { what, names, setting, secondSetting } = compared;
    printJson({ agrees, disagreements, date: comparison.date, compared: { what, side0: names[0], side1: names[1], settingSha256: setting.sha256, secondSha256: secondSetting?.sha256 ?? null }, seed: plan.seed, result });
  } else {
    print(`${comparison.date}  ${plan.task === 'identify' ? 'which of A and B is X' : 'which is preferred'}, seed ${plan.seed}`);
    comparedLines(compared).forEach(print);
    excerpts.forEach(({ name, startSeconds, endSeconds, residualDb }, index) => print(`excerpt ${index + 1}${name === '' ? '' : `, ${plain(name)}`}: ${startSeconds.toFixed(2)} to ${endSeconds.toFixed(2)} s, ${residualDb.toFixed(3)} dB left`));
    print('');
    // What does not agree concludes nothing.
    if (agrees) result.words.forEach((sentence) => print(plain(sentence)));
    disagreementLines(disagreements).forEach(print);
    print(`\n${trialTable(plan, trials, [plain(compared.names[0]), plain(compared.names[1])])}`);
  }
  return agrees ? exitCodes.good : exitCodes.checkFailed;
}

function trialTable({ task }: BlindPlan, trials: readonly AnsweredTrial[], names: readonly [string, string]): string {
  const headings = ['trial', 'A', 'B', ...(task === 'identify' ? ['X'] : []), 'answer', task === 'identify' ? 'hit' : 'note', 'excerpts'];
  const rows = trials.map(({ A, B, X, answer, hit, isNull, excerpts }, index) => [
    String(index + 1), names[A], names[B], ...(X === null ? [] : [names[X]]), answer === 0 ? 'none' : answer === 1 ? 'A' : 'B', isNull ? 'null trial' : hit === null ? '' : hit ? 'yes' : 'no', excerpts.join(' '),
  ]);
  return formatTable(headings, rows, headings.map(() => true));
}
