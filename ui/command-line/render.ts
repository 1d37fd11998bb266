import { decibelsToRatio } from '../../dsp/math/index.ts';
import { PathRenderer, planPath } from '../../dsp/path/index.ts';
import { sampleEncodings } from '../../dsp/recording/index.ts';
import { readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { Progress } from './progress.ts';
import { grades, renderReport } from './render-report.ts';
import type { RenderRequest } from './render-report.ts';
import { readLog, replayFile } from './replay.ts';
import { readSetting } from './subject.ts';
import { print, printJson } from './table.ts';
import { inspectWav, readWavBlocks, WavOutput } from './wav-files.ts';

export const renderHelp = `render    --setting FILE --in IN.wav --out OUT.wav [--passes 1] [--grade listening|measuring] [--encoding NAME] [--events FILE] [--json]

Plays a recording through the path of a setting and writes what comes out, aligned with the input and as long.
  --passes N       play the recording N times without a break and write the last pass (how a loop sounds once it has settled)
  --grade NAME     listening (default): as the page plays; measuring: the solver's finer tolerance
  --encoding NAME  ${sampleEncodings.join(', ')}; as the input if absent
  --events FILE    a log of changes kept by the page while its loop IN.wav played: renders that performance again
Prints the SHA-256 of the samples (float64, little-endian, interleaved) and their rate.`;

const options = {
  setting: { type: 'string' },
  in: { type: 'string' },
  out: { type: 'string' },
  passes: { type: 'string' },
  grade: { type: 'string' },
  encoding: { type: 'string' },
  events: { type: 'string' },
  json: { type: 'boolean' },
} as const satisfies Options;

const blockFrames = 1024;

export async function render(args: readonly string[]): Promise<number> {
  const words = readWords('render', args, options);
  const setting = await readSetting(words.required('setting'));
  const inputPath = words.required('in');
  const outputPath = words.required('out');
  const eventsPath = words.text('events');
  if (eventsPath !== undefined && words.text('passes') !== undefined) throw new InputFailure('--passes: expected nothing beside --events, whose log says how long it played');
  const request = {
    setting,
    inputPath,
    outputPath,
    grade: oneOf('--grade', words.text('grade') ?? 'listening', grades),
    encoding: words.text('encoding') === undefined ? undefined : oneOf('--encoding', words.required('encoding'), sampleEncodings),
  };
  const report = eventsPath === undefined
    ? await renderFile({ ...request, passes: Math.round(words.number('passes', { minimum: 1, maximum: 1000, otherwise: 1 })) })
    : await replayFile({ ...request, log: await readLog(eventsPath) });
  if (words.flag('json')) {
    printJson({ ...report, out: outputPath });
  } else {
    print(`${outputPath}: ${report.frames} frames, ${report.channels === 1 ? 'mono' : 'stereo'}, ${report.rateHz} Hz`);
    if (report.clippedSamples > 0) print(`${report.clippedSamples} samples were beyond full scale and are clipped`);
    if (report.solver.capHits + report.solver.nonFinite > 0) print(`solver: ${report.solver.capHits} samples without convergence, ${report.solver.nonFinite} not finite`);
    print(`sha256 ${report.sha256} at ${report.rateHz} Hz`);
  }
  return exitCodes.good;
}


/** Renders one file; leaves nothing behind when it fails. */
export async function renderFile(request: RenderRequest) {
  const { setting, inputPath, passes } = request;
  const { format, frameCount } = await inspectWav(inputPath);
  const plan = planPath(setting.path, format.rateHz);
  const { levelMatch } = setting;
  const renderer = new PathRenderer(plan, format.channelCount, {
    skipFrames: (passes - 1) * frameCount,
    blockFrames,
    tolerance: request.grade,
    ...(levelMatch?.onTrial === 'path' ? { gains: { inGain: decibelsToRatio(levelMatch.inGainDb), outGain: decibelsToRatio(levelMatch.outGainDb) } } : {}),
  });
  const samples = { encoding: request.encoding ?? format.encoding, channelCount: format.channelCount, rateHz: format.rateHz };
  const output = await WavOutput.create(request.outputPath, samples, frameCount);
  const progress = new Progress('render');
  try {
    let done = 0;
    const finished: { channels: Float64Array[]; frames: number }[] = [];
    const keep = (channels: readonly Float64Array[], frames: number) => {
      finished.push({ channels: channels.map((channel) => channel.slice(0, frames)), frames });
    };
    const drain = async () => {
      for (const { channels, frames } of finished.splice(0)) await output.write(channels, 0, frames);
    };
    for (let pass = 0; pass < passes; pass += 1) {
      for await (const { channels, frames } of readWavBlocks(inputPath, blockFrames)) {
        renderer.push(channels, frames, keep);
        await drain();
        done += frames;
        progress.report(done / (passes * frameCount));
      }
    }
    renderer.finish(keep);
    await drain();
    return renderReport(renderer, samples, frameCount, await output.finish(), output.counts);
  } catch (error) {
    await output.abandon();
    throw error;
  } finally {
    progress.done();
  }
}

function oneOf<T extends string>(where: string, written: string, known: readonly T[]): T {
  const found = known.find((name) => name === written);
  if (found === undefined) throw new InputFailure(`${where}: expected one of ${known.join(', ')}, got ${written}`);
  return found;
}
