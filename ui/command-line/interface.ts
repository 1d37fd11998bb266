import { interfaceVerdict } from '../../dsp/measure/index.ts';
import { stageById } from '../../dsp/stages/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { finished } from './finished.ts';
import { readSetting } from './subject.ts';
import { formatCsv, formatTable, print, printJson } from './table.ts';

export const interfaceHelp = `interface --setting FILE [--stage N] [--json|--csv]

Separates what a path does from what its interface does: source and load (the setting's surroundings) see something else when it is there.
Response at 20 Hz, 1 kHz and 20 kHz: wired through without it, itself between an ideal source and no load but its own, in its place, and what
is left for the interface; H2 and H3 of 1 kHz at +4 dBu, by itself and in its place.
  --stage N  of the Nth stage and its neighbours instead of the whole path`;

const options = { setting: { type: 'string' }, stage: { type: 'string' }, json: { type: 'boolean' }, csv: { type: 'boolean' } } as const satisfies Options;

export async function interfaceOf(args: readonly string[]): Promise<number> {
  const words = readWords('interface', args, options);
  const { path, baseRateHz, joints } = await readSetting(words.required('setting'));
  const count = path.stages.length;
  if (words.text('stage') !== undefined && count === 0) throw new InputFailure('--stage: expected a path with stages, got one without');
  const place = words.text('stage') === undefined ? null : Math.round(words.number('stage', { minimum: 1, maximum: count }));
  const verdict = finished(interfaceVerdict({ path, baseRateHz, joints, of: place === null ? { kind: 'path' } : { kind: 'stage', key: path.stages[place - 1]!.key } }));
  const { response, harmonics, remarks } = verdict;
  if (words.flag('json')) {
    printJson({ response, harmonics, words: remarks.map((remark) => remark.words) });
    return exitCodes.good;
  }
  const headings = ['', 'without', 'itself', 'in place', 'interface'];
  const rows = [
    ...response.map(({ hz, without, itself, inPlace, interface: own }) => [`${hz} Hz, dB`, without.toFixed(3), itself.toFixed(3), inPlace.toFixed(3), (own + 0).toFixed(3)]),
    ...(harmonics ?? []).map(({ order, itself, inPlace }) => [`H${order}, dB`, '', itself.toFixed(2), inPlace.toFixed(2), (inPlace - itself).toFixed(2)]),
  ];
  if (words.flag('csv')) {
    print(formatCsv(headings, rows.map(([label, ...figures]) => [label!.replace(',', ''), ...figures])));
    return exitCodes.good;
  }
  print(place === null ? 'the whole path' : `stage ${place}, ${stageById(path.stages[place - 1]!.stage).title}`);
  print(formatTable(headings, rows));
  for (const remark of remarks) print(remark.words);
  return exitCodes.good;
}
