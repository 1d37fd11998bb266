/** The stretch of a recording that goes round, and what of a path is on trial, as words of the command line say them. */
import { pathMechanisms, type OnTrial, type PathSetting } from '../../dsp/path/index.ts';
import { InputFailure } from './failure.ts';
import { inspectRecording, readBlocks } from './recording-files.ts';

export interface RecordedRegion {
  readonly channels: readonly Float64Array[];
  readonly rateHz: number;
  /** Null: all of it. */
  readonly region: { readonly startSeconds: number; readonly endSeconds: number } | null;
}

/** Only the stretch is held in memory. `written`: "1.2-3.4", seconds; all of the recording if absent. @throws InputFailure for one that is longer than it may be, or not within the recording */
export async function readRegion(path: string, written: string | undefined, mostSeconds: number): Promise<RecordedRegion> {
  const { format, frameCount } = await inspectRecording(path);
  const { rateHz, channelCount } = format;
  const region = written === undefined ? null : regionOf(written, frameCount / rateHz);
  const startFrame = region === null ? 0 : Math.round(region.startSeconds * rateHz);
  const endFrame = region === null ? frameCount : Math.min(frameCount, Math.round(region.endSeconds * rateHz));
  const seconds = (endFrame - startFrame) / rateHz;
  if (seconds === 0) throw new InputFailure(`${path}: expected samples${written === undefined ? '' : ` in --region ${written}`}, got none`);
  if (seconds > mostSeconds) throw new InputFailure(`--region: expected at most ${mostSeconds} s of ${path}, got ${seconds.toFixed(2)} s; name a stretch such as 1.2-3.4`);
  const channels = Array.from({ length: channelCount }, () => new Float64Array(endFrame - startFrame));
  let at = 0;
  for await (const { channels: block, frames } of readBlocks(path, 4096)) {
    const [from, to] = [Math.max(0, startFrame - at), Math.min(frames, endFrame - at)];
    if (to > from) channels.forEach((channel, index) => channel.set(block[index]!.subarray(from, to), at + from - startFrame));
    at += frames;
    if (at >= endFrame) break;
  }
  return { channels, rateHz, region };
}

function regionOf(written: string, seconds: number): { readonly startSeconds: number; readonly endSeconds: number } {
  const found = /^(\d+(?:\.\d+)?)-(\d+(?:\.\d+)?)$/.exec(written);
  const [startSeconds, endSeconds] = [Number(found?.[1]), Number(found?.[2])];
  if (!found || !(startSeconds < endSeconds && endSeconds <= seconds + 1e-6)) throw new InputFailure(`--region: expected two times such as 1.2-3.4 within ${seconds.toFixed(2)} s, got ${written}`);
  return { startSeconds, endSeconds };
}

/** "path", the number of a stage, or one of its mechanisms: "2", "2:crossover". @throws InputFailure with what there is */
export function trialOf(written: string, path: PathSetting): OnTrial {
  if (written === 'path') return { kind: 'path' };
  const stage = /^\d+$/.test(written) ? path.stages[Number(written) - 1] : undefined;
  if (stage !== undefined) return { kind: 'stage', key: stage.key };
  const mechanisms = pathMechanisms(path);
  const found = mechanisms.find(({ index, mechanism }) => `${index + 1}:${mechanism.id}` === written);
  if (found !== undefined) return { kind: 'without', key: found.key, mechanism: found.mechanism.id };
  throw new InputFailure(`--on-trial: expected path, the number of a stage (1 to ${path.stages.length}) or a mechanism (${mechanisms.map(({ index, mechanism }) => `${index + 1}:${mechanism.id}`).join(', ')}), got ${written}`);
}
