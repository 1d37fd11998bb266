import { probeJoints } from '../../dsp/measure/index.ts';
import { planPath } from '../../dsp/path/index.ts';
import { jointWords, writeSetting } from '../../dsp/setting/index.ts';
import { stageById } from '../../dsp/stages/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes } from './failure.ts';
import { finished } from './finished.ts';
import { readSetting } from './subject.ts';
import { formatTable, print, printJson } from './table.ts';
import { writeAside } from './write-aside.ts';

export const jointsHelp = `joints    --setting FILE [--out FILE] [--json]

Probes each joint of two circuits in a setting's path: level and H2 to H5 at 100 Hz, 1 and 10 kHz, at +4 dBu and where the two clip, one circuit
after the other (the second contains the output network of the first) against one circuit of both. Where they differ by more than 0.005 dB the two
are to be joined: solved as one circuit, which costs more.
  --out FILE  writes the setting with these verdicts, by which it then plays; check holds them against a later probe`;

const options = { setting: { type: 'string' }, out: { type: 'string' }, json: { type: 'boolean' } } as const satisfies Options;

export async function joints(args: readonly string[]): Promise<number> {
  const words = readWords('joints', args, options);
  const setting = await readSetting(words.required('setting'));
  const { path, baseRateHz } = setting;
  const verdicts = finished(probeJoints(path));
  const { refusedJoints } = planPath(path, baseRateHz, { joints: verdicts, rule: 'T1' });
  const outPath = words.text('out');
  if (outPath !== undefined) await writeAside(outPath, writeSetting({ ...setting, joints: verdicts, rules: null }));
  if (words.flag('json')) {
    printJson({ joints: verdicts, refused: refusedJoints.map(({ sentence }) => sentence) });
    return exitCodes.good;
  }
  print(formatTable(['joint before', 'on request', 'probe'], path.stages.map(({ stage, joined }, index) => {
    const verdict = verdicts[index] ?? null;
    return [`${index + 1} ${stageById(stage).shortTitle}`, joined ? 'joined' : '', verdict === null ? '' : jointWords(verdict)];
  })));
  for (const { sentence } of refusedJoints) print(sentence);
  if (outPath !== undefined) print(`written to ${outPath}`);
  return exitCodes.good;
}
