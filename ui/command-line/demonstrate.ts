import { readFile, stat } from 'node:fs/promises';
import { basename, extname } from 'node:path';
import { sha256 } from '../../dsp/math/index.ts';
import { trialHarmonicsInSteps } from '../../dsp/measure/index.ts';
import { playBothWays } from '../../dsp/measure/loop/index.ts';
import { planPath, writeQuantity } from '../../dsp/path/index.ts';
import { blindLengths } from '../documents/demonstration/content.ts';
import { defaultWords } from '../documents/demonstration/default-words.ts';
import { demonstrationPage } from '../documents/demonstration/page.ts';
import { encodeBothWays, longestSeconds, refuseLength } from '../documents/demonstration/sound.ts';
import playerScript from '../documents/demonstration/player/player.ts?script-text';
import { readDay, readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { finished } from './finished.ts';
import { Progress } from './progress.ts';
import { readRegion, trialOf } from './region.ts';
import { readSetting } from './subject.ts';
import { print, printJson } from './table.ts';
import { writeAside } from './write-aside.ts';

export const demonstrateHelp = `demonstrate --setting FILE --in LOOP --out OUT.html [--region 1.2-3.4] [--on-trial path|N|N:NAME] [--blind 12] [--title TEXT] [--words FILE] [--date 2026-11-26] [--json]

Writes one page that lets anybody hear a recording in and out of circuit, equally loud, in a browser and without a network: both ways rendered by the real path at the grade that plays, a
plain explanation, the figures, the setting itself.
  --region A-B     seconds of the recording that go round, at most 60; all of it if absent
  --on-trial WHAT  path (default), the number of a stage, or one of its mechanisms (2:crossover)
  --blind N        adds a blind part of N trials (${blindLengths.join(', ')})
  --title TEXT     heading; the setting's own if absent
  --words FILE     the explanation, paragraphs parted by empty lines; words made of the path if absent
  --date DATE      put into the page; without it the same input gives the same bytes on any day`;

const options = {
  setting: { type: 'string' },
  in: { type: 'string' },
  out: { type: 'string' },
  region: { type: 'string' },
  'on-trial': { type: 'string' },
  blind: { type: 'string' },
  title: { type: 'string' },
  words: { type: 'string' },
  date: { type: 'string' },
  json: { type: 'boolean' },
} as const satisfies Options;

/** Tone that the harmonics in the page are measured with. */
const probe = { frequencyHz: 200, levelDbu: 4 } as const;

export async function demonstrate(args: readonly string[]): Promise<number> {
  const given = readWords('demonstrate', args, options);
  const setting = await readSetting(given.required('setting'));
  const inputPath = given.required('in');
  const outputPath = given.required('out');
  const onTrial = trialOf(given.text('on-trial') ?? 'path', setting.path);
  const blindTrials = given.text('blind') === undefined ? null : lengthOf(given.required('blind'));
  const date = readDay('--date', given.text('date'));
  const wordsPath = given.text('words');
  const ownWords = wordsPath === undefined ? null : await readFile(wordsPath, 'utf8');
  const { channels, rateHz, region } = await readRegion(inputPath, given.text('region'), longestSeconds);
  const refusal = refuseLength(channels[0]!.length / rateHz);
  if (refusal !== null) throw new InputFailure(`--region: ${refusal}`);
  const progress = new Progress('demonstrate');
  const ways = finishedWith(playBothWays(planPath(setting.path, rateHz, { joints: setting.joints, onTrial }), channels), (done) => progress.report(done));
  progress.done();
  if (ways.kind === 'cannot-match') throw new InputFailure(`${inputPath}: ${ways.sentence}`);
  const harmonics = finished(trialHarmonicsInSteps({ path: setting.path, joints: setting.joints, baseRateHz: rateHz, onTrial, ...probe }));
  const sound = encodeBothWays(ways, rateHz);
  const title = given.text('title') ?? setting.title;
  const words = ownWords ?? defaultWords(setting, onTrial, harmonics);
  const page = demonstrationPage({ title, words, date, setting, onTrial, programme: { title: basename(inputPath, extname(inputPath)), region }, harmonics, sound, blindTrials }, playerScript);
  await writeAside(outputPath, page);
  const { size } = await stat(outputPath);
  const { encoding, frames, match: { inGainDb, outGainDb, residualDb }, trimDb, drift } = sound;
  const report = { out: outputPath, bytes: size, sha256: sha256(new TextEncoder().encode(page)), seconds: frames / rateHz, rateHz, channels: sound.channels, encoding, inGainDb, outGainDb, residualDb, trimDb, drift, blindTrials };
  if (given.flag('json')) printJson(report);
  else describe(report);
  return exitCodes.good;
}

function describe({ out, bytes, sha256: hash, seconds, rateHz, channels, encoding, inGainDb, outGainDb, residualDb, trimDb }: {
  readonly out: string; readonly bytes: number; readonly sha256: string; readonly seconds: number; readonly rateHz: number; readonly channels: number; readonly encoding: string;
  readonly inGainDb: number; readonly outGainDb: number; readonly residualDb: number; readonly trimDb: number;
}): void {
  print(`${out}: ${(bytes / 1e6).toFixed(1)} MB, ${seconds.toFixed(2)} s both ways, ${channels === 1 ? 'mono' : 'stereo'}, ${encoding}, ${writeQuantity(rateHz, 'frequency', 'Hz')}`);
  print(`matched: in ${inGainDb.toFixed(2)} dB, out ${outGainDb.toFixed(2)} dB, left over ${Math.abs(residualDb).toFixed(2)} dB${trimDb < 0 ? `; both turned down by another ${(-trimDb).toFixed(2)} dB` : ''}`);
  print(`sha256 ${hash}`);
}

function lengthOf(written: string): number {
  const trials = blindLengths.find((length) => String(length) === written);
  if (trials === undefined) throw new InputFailure(`--blind: expected one of ${blindLengths.join(', ')}, got ${written}`);
  return trials;
}

function finishedWith<Result>(steps: Generator<number, Result>, told: (done: number) => void): Result {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
    told(step.value);
  }
}
