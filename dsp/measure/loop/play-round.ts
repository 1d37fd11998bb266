import { PathRenderer, type Emit, type TrialPlan } from '../../path/index.ts';

/** Played into the path before what counts, from the loop's end (round and round where the loop is shorter): what is charged then is what a second pass finds charged. */
const settleSeconds = 4;
/** How much of the end of the pass before is kept, to see whether the path repeats itself. */
const comparedSeconds = 0.1;
/** Base frames done between two yields: 1.3 ms of sound. */
const stepFrames = 64;

export interface PlayedRound {
  /** One array a channel, as long as the loop and in time with it; samples. */
  readonly channels: readonly Float64Array[];
  /** The end of this pass beside that of the one before: their difference re what is played there, as a ratio of r.m.s.; 0 where nothing is played. */
  readonly drift: number;
}

/**
 * A loop that goes round through a path, once it has settled: the state goes on over the wrap, and the look-ahead of the ladder at the end is the loop's own beginning. Yields base frames
 * done, in steps; `roundFrames` of them in all. `gains`: a ratio for each channel, on its way in; `trialIn`: what is on trial in circuit or out. Off the audio thread.
 */
export function* playRound(
  plan: TrialPlan, loop: readonly Float64Array[], { gains = loop.map(() => 1), trialIn = true }: { readonly gains?: readonly number[]; readonly trialIn?: boolean } = {},
): Generator<number, PlayedRound> {
  const frames = loop[0]!.length;
  const settle = settleFrames(plan.baseRateHz);
  const compared = Math.min(frames, Math.round(comparedSeconds * plan.baseRateHz));
  const renderer = new PathRenderer(plan, loop.length, { blockFrames: stepFrames, skipFrames: settle - compared, trialIn });
  const kept = loop.map(() => new Float64Array(compared + frames));
  let written = 0;
  const emit: Emit = (outputs, count) => {
    const taken = Math.min(count, compared + frames - written);
    for (let channel = 0; channel < kept.length; channel += 1) kept[channel]!.set(outputs[channel]!.subarray(0, taken), written);
    written += taken;
  };
  const blocks = loop.map(() => new Float64Array(stepFrames));
  let at = (frames - (settle % frames)) % frames;
  for (let done = 0; written < compared + frames;) {
    const count = Math.min(stepFrames, frames - at);
    for (let channel = 0; channel < blocks.length; channel += 1) {
      const [block, samples, gain] = [blocks[channel]!, loop[channel]!, gains[channel]!];
      for (let i = 0; i < count; i += 1) block[i] = gain * samples[at + i]!;
    }
    renderer.push(blocks, count, emit);
    at = (at + count) % frames;
    done += count;
    yield done;
  }
  return { channels: kept.map((channel) => channel.subarray(compared)), drift: driftOf(kept, compared) };
}

/** About how many frames `playRound` takes for such a loop: for progress. */
export function roundFrames(rateHz: number, frames: number): number {
  return settleFrames(rateHz) + frames;
}

function settleFrames(rateHz: number): number {
  return Math.round(settleSeconds * rateHz);
}

function driftOf(kept: readonly Float64Array[], compared: number): number {
  let [moved, whole] = [0, 0];
  for (const channel of kept) {
    const late = channel.length - compared;
    for (let i = 0; i < compared; i += 1) {
      const now = channel[late + i]!;
      moved += squared(now - channel[i]!);
      whole += squared(now);
    }
  }
  return whole === 0 ? 0 : Math.sqrt(moved / whole);
}

function squared(x: number): number {
  return x * x;
}
