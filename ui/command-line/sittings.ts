/** `sittings`: how far a long listening has come, or what it showed, reckoned anew from its sittings. */
import { longPlanWords, sittingSides } from '../../dsp/listening/index.ts';
import { maximumRecordLength, parseLongListening, type LongListening } from '../../dsp/setting/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { comparedLines, disagreementLines } from './compared-lines.ts';
import { exitCodes } from './failure.ts';
import { plain } from './plain.ts';
import { readRecordFile } from './record-text.ts';
import { formatTable, print, printJson } from './table.ts';

export const sittingsHelp = `sittings  FILE [--json]

A long listening from its file: under way, the sittings without their sides; revealed, the result reckoned anew from seed and ratings, and the checksums of the settings.
Exit code 1 where the file does not agree with itself.`;

const options = { json: { type: 'boolean' } } as const satisfies Options;

export async function sittings(args: readonly string[]): Promise<number> {
  const words = readWords('sittings', args, options, 1);
  const { listening, result, disagreements } = await readRecordFile(words.positionals[0]!, 'a long listening', maximumRecordLength, parseLongListening);
  const { compared, plan, ended } = listening;
  const agrees = disagreements.length === 0;
  if (words.flag('json')) {
    const { what, names, setting, secondSetting } = compared;
    printJson({
      agrees, disagreements, date: listening.date, ended, compared: { what, side0: names[0], side1: names[1], settingSha256: setting.sha256, secondSha256: secondSetting?.sha256 ?? null },
      plan, sittings: listening.sittings.length, planned: 2 * plan.pairs, result,
    });
  } else {
    print(`${listening.date}  long listening, question: ${plan.question}, seed ${plan.seed}`);
    comparedLines(compared).forEach(print);
    print('');
    if (agrees) (result === null ? [`${listening.sittings.length} of ${2 * plan.pairs} sittings done; nothing is revealed before the end. ${longPlanWords(plan)}`] : result.words).forEach((sentence) => print(plain(sentence)));
    disagreementLines(disagreements).forEach(print);
    if (listening.sittings.length > 0) print(`\n${sittingTable(listening)}`);
  }
  return agrees ? exitCodes.good : exitCodes.checkFailed;
}

function sittingTable({ compared: { names }, plan, sittings: logs, ended }: LongListening): string {
  const sides = ended === null ? null : sittingSides(plan);
  const headings = ['sitting', 'began', 'minutes', 'ease', 'fatigue', 'believed', ...(sides === null ? [] : ['was']), 'words'];
  const rows = logs.map(({ began, heardSeconds, toTheEnd, ease, fatigue, believed, noIdea, words }, index) => [
    String(index + 1), began.replace('T', ' '), `${(heardSeconds / 60).toFixed(1)}${toTheEnd ? '' : ', left'}`, String(ease), String(fatigue), plain(`${names[believed]}${noIdea ? ', a guess' : ''}`),
    ...(sides === null ? [] : [plain(names[sides[index]!])]), plain(words.replaceAll(/\s+/g, ' ')),
  ]);
  return formatTable(headings, rows, headings.map(() => true));
}
