/** One recording through the path of a setting. */
import { decibelsToRatio } from '../../dsp/math/index.ts';
import { PathRenderer, planPath } from '../../dsp/path/index.ts';
import type { PlannedProgram, RenderOptions } from '../../dsp/path/index.ts';
import { renderReport } from './render-report.ts';
import type { RenderRequest } from './render-report.ts';
import { inspectRecording, readBlocks, WavOutput } from './recording-files.ts';

const blockFrames = 1024;

export interface FileRequest extends RenderRequest {
  readonly passes: number;
  /** Programs made before, by identity; new ones are added. */
  readonly known?: Map<string, PlannedProgram>;
  readonly onProgress?: (done: number) => void;
}

/** Gains of the stored match, where it is of what is rendered: the whole path, or the path without this mechanism. */
function gainsOf({ levelMatch, path }: RenderRequest['setting'], without: RenderRequest['without']): Pick<RenderOptions, 'gains'> {
  if (levelMatch === null) return {};
  const { onTrial } = levelMatch;
  const matches = without === undefined ? onTrial === 'path' : onTrial !== 'path' && path.stages[onTrial.stageIndex]?.key === without.key && onTrial.without === without.mechanism;
  return matches ? { gains: { inGain: decibelsToRatio(levelMatch.inGainDb), outGain: decibelsToRatio(levelMatch.outGainDb) } } : {};
}

/** Renders one file; leaves nothing behind when it fails. */
export async function renderFile(request: FileRequest) {
  const { setting, inputPath, passes, known, grade, without } = request;
  const { format, frameCount } = await inspectRecording(inputPath);
  const plan = planPath(setting.path, format.rateHz, { grade, joints: setting.joints, ...(known ? { known } : {}), ...(without ? { onTrial: without } : {}) });
  const renderer = new PathRenderer(plan, format.channelCount, {
    skipFrames: (passes - 1) * frameCount,
    blockFrames,
    ...(without ? { trialIn: false } : {}),
    ...gainsOf(setting, without),
  });
  const samples = { encoding: request.encoding ?? format.encoding, channelCount: format.channelCount, rateHz: format.rateHz };
  const output = await WavOutput.create(request.outputPath, samples, frameCount);
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
      for await (const { channels, frames } of readBlocks(inputPath, blockFrames)) {
        renderer.push(channels, frames, keep);
        await drain();
        done += frames;
        request.onProgress?.(done / (passes * frameCount));
      }
    }
    renderer.finish(keep);
    await drain();
    return renderReport(setting.path, plan, renderer, samples, frameCount, await output.finish(), output.counts);
  } catch (error) {
    await output.abandon();
    throw error;
  }
}
