import { probeJoints } from '../../dsp/measure/index.ts';
import { readyPaths, readySetting, writeSetting } from '../../dsp/setting/index.ts';
import { stageById } from '../../dsp/stages/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { finished } from './finished.ts';
import { Progress } from './progress.ts';
import { print, printJson } from './table.ts';
import { writeAside } from './write-aside.ts';

export const readyHelp = `ready     [NAME --out FILE] [--json]

Paths to begin from, each with what to listen for. Without a name it lists them; with one it writes the setting, its joints probed.
  --out FILE  where the setting goes`;

const options = { out: { type: 'string' }, json: { type: 'boolean' } } as const satisfies Options;

export async function ready(args: readonly string[]): Promise<number> {
  const named = args[0] !== undefined && !args[0].startsWith('-');
  const words = readWords('ready', args, options, named ? 1 : 0);
  if (!named) {
    if (words.text('out') !== undefined) throw new InputFailure(`ready: expected a name beside --out, one of ${readyPaths.map(({ id }) => id).join(', ')}, got none`);
    list(words.flag('json'));
    return exitCodes.good;
  }
  const name = words.positionals[0]!;
  if (!readyPaths.some(({ id }) => id === name)) throw new InputFailure(`ready: expected one of ${readyPaths.map(({ id }) => id).join(', ')}, got ${name}`);
  const outPath = words.required('out');
  const setting = readySetting(name);
  const progress = new Progress('probing joints');
  const steps = probeJoints(setting.path);
  const joints = finished((function* told() {
    for (;;) {
      const step = steps.next();
      if (step.done) return step.value;
      progress.report(step.value);
      yield;
    }
  })());
  progress.done();
  await writeAside(outPath, writeSetting({ ...setting, joints }));
  const { title, listenFor } = readyPaths.find(({ id }) => id === name)!;
  if (words.flag('json')) printJson({ name, title, listenFor, out: outPath });
  else print(`${outPath}: ${title}\nListen for: ${listenFor}`);
  return exitCodes.good;
}

function list(asJson: boolean): void {
  if (asJson) {
    printJson(readyPaths.map(({ id, title, listenFor, stages }) => ({ name: id, title, listenFor, stages: stages.map(({ stage }) => stage) })));
    return;
  }
  for (const { id, title, listenFor, stages } of readyPaths) {
    print(`${id}: ${title}`);
    print(`  ${stages.map(({ stage }) => stageById(stage).shortTitle).join(' → ')}`);
    for (const line of wrapped(listenFor, 110)) print(`  ${line}`);
    print('');
  }
}

/** Lines of at most `width` characters, broken between words. */
function wrapped(text: string, width: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const last = lines.at(-1);
    if (last === undefined || last.length + 1 + word.length > width) lines.push(word);
    else lines[lines.length - 1] = `${last} ${word}`;
  }
  return lines;
}
