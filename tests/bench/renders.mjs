// The command line's render: the opening setting on one recording, and a folder of them by one thread and by two.
import { spawnSync } from 'node:child_process';
import { copyFileSync, mkdirSync, rmSync } from 'node:fs';
import { build } from 'vite';

const setting = 'dist/bench/opening.setting.json';
const folder = 'dist/bench/renders';
const recording = 'demo-audio/duet.wav';
const rounds = 3;
/** Of the recording alone: a minute. */
const passes = 6;
/** … and of each file of the folder: half a minute. */
const folderPasses = 3;
const files = 4;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

/** The command line as it is now, then the figures, start of the process included. `recording` is 10 s in stereo, played over and over; a song is longer. */
export async function timeRenders() {
  await build({ configFile: 'ui/command-line/vite.config.ts', logLevel: 'error' });
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(`${folder}/in`, { recursive: true });
  for (let k = 0; k < files; k += 1) copyFileSync(recording, `${folder}/in/${k}.wav`);
  const single = [];
  const workers = [];
  for (let round = 0; round < rounds; round += 1) {
    const { report, spent } = commandLine(['render', '--setting', setting, '--in', recording, '--out', `${folder}/out.wav`, '--passes', String(passes), '--json']);
    single.push((passes * report.frames) / report.rateHz / spent.processorSeconds);
    const [one, two] = [1, 2].map((count) => commandLine(['render', '--setting', setting, '--in', `${folder}/in`, '--out', `${folder}/out`, '--passes', String(folderPasses), '--workers', String(count), '--json']).spent.wallSeconds);
    workers.push(one / two);
  }
  return { realTimePerCore: median(single), twoWorkersRatio: median(workers) };
}

function commandLine(words) {
  const run = spawnSync(process.execPath, ['tests/bench/run-command-line.mjs', ...words], { encoding: 'utf8', maxBuffer: 1e8 });
  if (run.status !== 0) throw new Error(`stagebench ${words.join(' ')}: ${run.stderr}`);
  return { report: JSON.parse(run.stdout), spent: JSON.parse(run.stderr.trim().split('\n').at(-1)) };
}
