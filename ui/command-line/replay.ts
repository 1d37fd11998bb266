/** A performance played on the page, rendered again from its log. */
import { readFile } from 'node:fs/promises';
import { LoopPlayer, PathRenderer, planPath } from '../../dsp/path/index.ts';
import type { PathEvent, PathSetting } from '../../dsp/path/index.ts';
import { parseWholeRecording } from '../../dsp/recording/index.ts';
import { applyValues, parseEvents } from '../../dsp/setting/index.ts';
import type { LoggedChange, PlayingLog, Setting } from '../../dsp/setting/index.ts';
import { InputFailure } from './failure.ts';
import { renderReport } from './render-report.ts';
import type { RenderRequest } from './render-report.ts';
import { WavOutput } from './recording-files.ts';

const blockFrames = 1024;

export async function readLog(path: string): Promise<PlayingLog> {
  try {
    return parseEvents(await readFile(path, 'utf8'));
  } catch (error) {
    if (error instanceof Error && error.name === 'SettingError') throw new InputFailure(`${path}: ${error.message}`);
    throw error;
  }
}

/** As long as it was played; aligned with what went in. The loop is held in memory, as it was while playing. */
export async function replayFile(request: RenderRequest & { readonly log: PlayingLog }) {
  const { log, inputPath, setting } = request;
  const { format, channels } = parseWholeRecording(await readFile(inputPath));
  if (format.rateHz !== log.rateHz) throw new InputFailure(`${inputPath}: expected the loop that was played at ${log.rateHz} Hz, got ${format.rateHz} Hz`);
  const performance = plannedPerformance(log, setting, request.grade);
  const renderer = new PathRenderer(performance.plan, format.channelCount, { ...performance.options, blockFrames });
  const loop = new LoopPlayer();
  loop.load(channels, { startFrame: 0, endFrame: channels[0]!.length }, 0);
  const samples = { encoding: request.encoding ?? format.encoding, channelCount: format.channelCount, rateHz: format.rateHz };
  const output = await WavOutput.create(request.outputPath, samples, log.frames);
  try {
    const inputs = channels.map(() => new Float64Array(blockFrames));
    const finished: Float64Array[][] = [];
    const keep = (outputs: readonly Float64Array[], frames: number) => { finished.push(outputs.map((channel) => channel.slice(0, frames))); };
    const drain = async () => {
      for (const block of finished.splice(0)) await output.write(block, 0, block[0]!.length);
    };
    const moves = log.changes.filter((change): change is LoggedChange & { kind: 'position' } => change.kind === 'position');
    let next = 0;
    for (let frame = 0; frame < log.frames;) {
      for (let move = moves[next]; move && move.frame <= frame; move = moves[next]) {
        loop.setRegion(move);
        loop.seek(move.positionFrame);
        next += 1;
      }
      const frames = Math.min(blockFrames, log.frames - frame, (moves[next]?.frame ?? Infinity) - frame);
      loop.fill(inputs, frames);
      renderer.push(inputs, frames, keep);
      await drain();
      frame += frames;
    }
    renderer.finish(keep);
    await drain();
    return renderReport(performance.path, performance.plan, renderer, samples, log.frames, await output.finish(), output.counts);
  } catch (error) {
    await output.abandon();
    throw error;
  }
}

/** What is in force at frame 0, and what came after. */
function plannedPerformance(log: PlayingLog, setting: Setting, grade: RenderRequest['grade']) {
  let path: PathSetting = setting.path;
  let { joints } = setting;
  let onTrial: LoggedChange & { kind: 'path' } | null = null;
  const planNow = () => planPath(path, log.rateHz, { grade, joints, ...(onTrial ? { onTrial: onTrial.onTrial } : {}) });
  let pathAtStart = path;
  let plan = planNow();
  let trialIn = true;
  let gains = { inGain: 1, outGain: 1 };
  const events: PathEvent[] = [];
  for (const change of log.changes) {
    if (change.kind === 'path') {
      const { stages, surroundings, supply } = change;
      path = { ...path, stages, surroundings, supply };
      ({ joints } = change);
      onTrial = change;
    } else if (change.kind === 'values') {
      path = applyValues(path, change);
    }
    const atStart = change.frame === 0;
    switch (change.kind) {
      case 'path':
      case 'values':
        if (atStart) {
          pathAtStart = path;
          plan = planNow();
        } else events.push({ frame: change.frame, plan: planNow() });
        break;
      case 'switch':
        if (atStart) ({ trialIn } = change);
        else events.push({ frame: change.frame, trialIn: change.trialIn });
        break;
      case 'match':
        if (atStart) gains = change;
        else events.push({ frame: change.frame, gains: change });
        break;
      case 'position':
    }
  }
  return { path: pathAtStart, plan, options: { trialIn, gains, events } };
}
