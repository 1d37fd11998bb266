/** Only what the thing on trial adds, into a file that can be heard. */
import { decibelsToRatio } from '../../dsp/math/index.ts';
import { addedOnTrialInSteps, differenceRaiseInSteps, leastAddedDb, type AddedOnTrial } from '../../dsp/measure/loop/index.ts';
import { planPath, type MatchGains, type OnTrial, type PathSetting } from '../../dsp/path/index.ts';
import type { SampleEncoding } from '../../dsp/recording/index.ts';
import type { Setting, StoredLevelMatch } from '../../dsp/setting/index.ts';
import { InputFailure } from './failure.ts';
import { finished } from './finished.ts';
import { inspectRecording, WavOutput } from './recording-files.ts';
import { readRegion } from './region.ts';
import type { RenderRequest } from './render-report.ts';

/** The recording goes round, and is held in memory some twenty times over. */
const mostSeconds = 60;

export interface DifferenceRequest extends Pick<RenderRequest, 'setting' | 'inputPath' | 'outputPath' | 'grade'> {
  readonly encoding: SampleEncoding | undefined;
  readonly onTrial: OnTrial;
  /** Null: as the bench chooses it. */
  readonly raiseDb: number | null;
  readonly onProgress: (done: number) => void;
}

export type DifferenceReport =
  | {
      readonly kind: 'added'; readonly frames: number; readonly channels: number; readonly rateHz: number; readonly belowDb: number; readonly raiseDb: number; readonly mostDb: number;
      readonly drift: number; readonly clippedSamples: number; readonly sha256: string;
    }
  | { readonly kind: 'nothing'; readonly belowDb: number };

/** Leaves nothing behind when it fails, or where there is nothing to hear. @throws InputFailure, also for a raise that would be louder than the programme */
export async function renderDifference({ setting, inputPath, outputPath, grade, encoding, onTrial, raiseDb, onProgress }: DifferenceRequest): Promise<DifferenceReport> {
  const { channels, rateHz } = await readRegion(inputPath, undefined, mostSeconds);
  const plan = planPath({ ...setting.path, supply: null }, rateHz, { grade, onTrial, joints: setting.joints });
  const { channels: added, heard, drift } = addedTo(inputPath, addedOnTrialInSteps(plan, channels, gainsOf(setting, onTrial)), onProgress);
  const raise = finished(differenceRaiseInSteps(added, heard, rateHz));
  if (raise.mostDb === null) return { kind: 'nothing', belowDb: raise.belowDb };
  const { belowDb, mostDb } = raise;
  if (raiseDb !== null && raiseDb > mostDb) throw new InputFailure(`--raise: expected at most ${mostDb} dB, at which it is as loud as the programme, got ${raiseDb} dB`);
  const raisedDb = raiseDb ?? raise.chosenDb;
  const ratio = decibelsToRatio(raisedDb);
  const frames = added[0]!.length;
  const samples = { encoding: encoding ?? (await inspectRecording(inputPath)).format.encoding, channelCount: channels.length === 1 ? 1 : 2, rateHz } as const;
  const output = await WavOutput.create(outputPath, samples, frames);
  try {
    await output.write(added.map((channel) => channel.map((sample) => ratio * sample)), 0, frames);
    return { kind: 'added', frames, channels: channels.length, rateHz, belowDb, raiseDb: raisedDb, mostDb, drift, clippedSamples: output.counts.clippedSamples, sha256: await output.finish() };
  } catch (error) {
    await output.abandon();
    throw error;
  }
}

/** Silence, or a circuit that does not stay at rest, is the input's. */
function addedTo(inputPath: string, steps: Generator<number, AddedOnTrial>, onProgress: (done: number) => void): AddedOnTrial {
  try {
    let step = steps.next();
    for (; !step.done; step = steps.next()) onProgress(step.value);
    return step.value;
  } catch (error) {
    throw error instanceof RangeError ? new InputFailure(`${inputPath}: ${error.message}`) : error;
  }
}

/** Why nothing was written. */
export function nothingSentence(belowDb: number): string {
  return `nothing to hear: what is left lies ${belowDb === -Infinity ? 'without end' : `${(-belowDb).toFixed(0)} dB`} under the programme, and below ${-leastAddedDb} dB it cannot be told from what the method leaves of a linear path`;
}

/** Of the stored match, where it is of the same trial. */
function gainsOf({ levelMatch, path }: Setting, onTrial: OnTrial): MatchGains {
  return levelMatch && isSameTrial(levelMatch.onTrial, onTrial, path) ? { inGain: decibelsToRatio(levelMatch.inGainDb), outGain: decibelsToRatio(levelMatch.outGainDb) } : { inGain: 1, outGain: 1 };
}

function isSameTrial(stored: StoredLevelMatch['onTrial'], onTrial: OnTrial, { stages }: PathSetting): boolean {
  if (stored === 'path' || onTrial.kind === 'path') return stored === 'path' && onTrial.kind === 'path';
  return stages[stored.stageIndex]?.key === onTrial.key && stored.without === (onTrial.kind === 'without' ? onTrial.mechanism : undefined);
}
