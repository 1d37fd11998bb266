import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { pathMechanisms } from '../../dsp/path/index.ts';
import type { OnTrial, PathSetting } from '../../dsp/path/index.ts';
import { sampleEncodings } from '../../dsp/recording/index.ts';
import { ruleWords } from '../../dsp/setting/index.ts';
import { readWords } from './arguments.ts';
import type { Options, Words } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { Progress } from './progress.ts';
import { trialOf } from './region.ts';
import { nothingSentence, renderDifference, type DifferenceRequest } from './render-difference.ts';
import { renderFile } from './render-file.ts';
import { renderFolder } from './render-folder.ts';
import type { RenderedFile } from './render-folder.ts';
import { grades } from './render-report.ts';
import type { RenderReport } from './render-report.ts';
import { readLog, replayFile } from './replay.ts';
import { readSetting } from './subject.ts';
import { formatTable, print, printJson } from './table.ts';

export const renderHelp = `render    --setting FILE --in IN --out OUT.wav [--passes 1] [--grade listening|measuring] [--encoding NAME] [--events FILE] [--without N:NAME] [--json]
          --difference [--on-trial path|N|N:NAME] [--raise DB]

Plays a recording (WAV, AIFF or FLAC, at its own rate) through the path of a setting and writes what comes out, aligned with the input and as long. With --in FOLDER --out FOLDER
every recording of the folder, under its own name and the ending .wav; one that cannot be read is named, the others are rendered, and the exit code is 1.
  --passes N       play the recording N times without a break and write the last pass (how a loop sounds once it has settled)
  --grade NAME     listening (default): as the page plays; measuring: the finer integration rule and tolerance that figures are measured with
  --workers N      of a folder: how many files at a time; as many as the machine runs at once if absent. The samples do not depend on it
  --encoding NAME  ${sampleEncodings.join(', ')}; as the input if absent
  --without N:NAME without this mechanism of stage N (why lists them; a wrong name is answered by the right ones)
  --difference     only what the thing on trial adds: the linear part removed, from 20 Hz up, settled as a loop that goes round, at most 60 s; raised, and the gain printed
  --on-trial WHAT  of the difference: path (default), a stage by its number (what the path adds with it less what it adds without it), or a mechanism
  --raise DB       of the difference: the gain; at most what makes it as loud as the programme. If absent 6 dB less than that
  --events FILE    a log of changes kept by the page while its loop IN played: renders that performance again
Prints the SHA-256 of the samples (float64, little-endian, interleaved) and their rate.`;

const options = {
  setting: { type: 'string' },
  in: { type: 'string' },
  out: { type: 'string' },
  passes: { type: 'string' },
  grade: { type: 'string' },
  encoding: { type: 'string' },
  events: { type: 'string' },
  workers: { type: 'string' },
  without: { type: 'string' },
  difference: { type: 'boolean' },
  'on-trial': { type: 'string' },
  raise: { type: 'string' },
  json: { type: 'boolean' },
} as const satisfies Options;

export async function render(args: readonly string[]): Promise<number> {
  const words = readWords('render', args, options);
  const setting = await readSetting(words.required('setting'));
  const inputPath = words.required('in');
  const outputPath = words.required('out');
  const eventsPath = words.text('events');
  if (eventsPath !== undefined && words.text('passes') !== undefined) throw new InputFailure('--passes: expected nothing beside --events, whose log says how long it played');
  const without = words.text('without');
  if (without !== undefined && eventsPath !== undefined) throw new InputFailure('--without: expected nothing beside --events, whose log says what was on trial');
  const request = {
    setting,
    ...(without === undefined ? {} : { without: mechanismOf(without, setting.path) }),
    grade: oneOf('--grade', words.text('grade') ?? 'listening', grades),
    encoding: words.text('encoding') === undefined ? undefined : oneOf('--encoding', words.required('encoding'), sampleEncodings),
  };
  if (words.flag('difference')) return difference(words, request, inputPath, outputPath);
  for (const name of ['on-trial', 'raise']) if (words.text(name) !== undefined) throw new InputFailure(`--${name}: expected beside --difference alone`);
  const passes = Math.round(words.number('passes', { minimum: 1, maximum: 1000, otherwise: 1 }));
  const workers = words.text('workers') === undefined ? null : Math.round(words.number('workers', { minimum: 1, maximum: 64 }));
  if ((await stat(inputPath)).isDirectory()) {
    if (eventsPath !== undefined) throw new InputFailure(`--events: expected --in to be the loop that was played, got a folder, ${inputPath}`);
    return reportFolder(await renderFolder({ ...request, passes }, inputPath, outputPath, workers), words.flag('json'));
  }
  if (workers !== null) throw new InputFailure(`--workers: expected --in to be a folder, got a file, ${inputPath}`);
  const progress = new Progress('render');
  const report = await (eventsPath === undefined
    ? renderFile({ ...request, inputPath, outputPath, passes, onProgress: (done) => progress.report(done) })
    : replayFile({ ...request, inputPath, outputPath, log: await readLog(eventsPath) })).finally(() => progress.done());
  if (words.flag('json')) printJson({ ...report, out: outputPath });
  else describe(report, outputPath);
  return exitCodes.good;
}

/** Only what is added. */
async function difference(words: Words, request: Pick<DifferenceRequest, 'setting' | 'grade' | 'encoding'>, inputPath: string, outputPath: string): Promise<number> {
  for (const name of ['passes', 'events', 'workers', 'without']) if (words.text(name) !== undefined) throw new InputFailure(`--${name}: expected nothing beside --difference`);
  const progress = new Progress('render');
  const report = await renderDifference({
    ...request, inputPath, outputPath, onTrial: trialOf(words.text('on-trial') ?? 'path', request.setting.path),
    raiseDb: words.text('raise') === undefined ? null : words.number('raise', { minimum: -60, maximum: 200 }), onProgress: (done) => progress.report(done),
  }).finally(() => progress.done());
  if (words.flag('json')) printJson(report.kind === 'added' ? { ...report, out: outputPath } : { ...report, out: null });
  if (report.kind === 'nothing') {
    process.stderr.write(`stagebench: ${inputPath}: ${nothingSentence(report.belowDb)}\n`);
    return exitCodes.checkFailed;
  }
  if (words.flag('json')) return exitCodes.good;
  const { frames, channels, rateHz, belowDb, raiseDb, mostDb, clippedSamples, sha256 } = report;
  print(`${outputPath}: ${frames} frames, ${channels === 1 ? 'mono' : 'stereo'}, ${rateHz} Hz`);
  print(`difference, ${raiseDb < 0 ? `lowered by ${-raiseDb}` : `raised by ${raiseDb}`} dB: ${(-belowDb).toFixed(1)} dB under what is heard with it; at ${mostDb} dB as loud`);
  if (clippedSamples > 0) print(`${clippedSamples} samples were beyond full scale and are clipped`);
  print(`sha256 ${sha256} at ${rateHz} Hz`);
  return exitCodes.good;
}

function describe(report: RenderReport, outputPath: string): void {
  print(`${outputPath}: ${report.frames} frames, ${report.channels === 1 ? 'mono' : 'stereo'}, ${report.rateHz} Hz`);
  for (const [index, { stage, rule, errorDb }] of report.stages.entries()) {
    if (rule !== null && errorDb !== null) print(`${index + 1} ${stage}: ${ruleWords({ rule, errorDb })}`);
  }
  if (report.clippedSamples > 0) print(`${report.clippedSamples} samples were beyond full scale and are clipped`);
  if (report.solver.capHits + report.solver.nonFinite > 0) print(`solver: ${report.solver.capHits} samples without convergence, ${report.solver.nonFinite} not finite`);
  print(`sha256 ${report.sha256} at ${report.rateHz} Hz`);
}

function reportFolder(files: readonly RenderedFile[], asJson: boolean): number {
  const refused = files.filter((file) => 'refused' in file);
  if (asJson) {
    printJson(files.map((file) => ('report' in file ? { ...file.report, in: file.inputPath, out: file.outputPath } : { in: file.inputPath, out: null, error: file.refused })));
  } else {
    print(formatTable(['file', 'frames', 'Hz', 'clipped', 'not converged', 'sha256'], files.map((file) => {
      const name = basename(file.inputPath);
      if ('refused' in file) return [name, 'not rendered', '', '', '', ''];
      const { frames, rateHz, clippedSamples, solver, sha256 } = file.report;
      return [name, String(frames), String(rateHz), String(clippedSamples), String(solver.capHits + solver.nonFinite), sha256];
    })));
  }
  for (const { refused: sentence } of refused) process.stderr.write(`stagebench: ${sentence}\n`);
  return refused.length === 0 ? exitCodes.good : exitCodes.checkFailed;
}

/** "2:crossover" */
function mechanismOf(written: string, path: PathSetting): Extract<OnTrial, { readonly kind: 'without' }> {
  const mechanisms = pathMechanisms(path);
  const found = mechanisms.find(({ index, mechanism }) => `${index + 1}:${mechanism.id}` === written);
  if (found === undefined) throw new InputFailure(`--without: expected one of ${mechanisms.map(({ index, mechanism }) => `${index + 1}:${mechanism.id}`).join(', ')}, got ${written}`);
  return { kind: 'without', key: found.key, mechanism: found.mechanism.id };
}

function oneOf<T extends string>(where: string, written: string, known: readonly T[]): T {
  const found = known.find((name) => name === written);
  if (found === undefined) throw new InputFailure(`${where}: expected one of ${known.join(', ')}, got ${written}`);
  return found;
}
