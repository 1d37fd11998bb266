import { fadeFrames, fadeWeights } from '../../dsp/path/index.ts';
import type { DifferenceSamples } from '../messages.ts';
import { Ramp } from './ramp.ts';

const gainSeconds = 0.02;

/**
 * What the thing on trial adds, heard in place of the path and in step with it: the path plays on beneath, so that neither side of the fade has to begin. Every change, there and back, is the
 * crossfade that a switch is. `load` and `hear` come between callbacks; what the audio callback calls allocates nothing, never throws or waits.
 */
export class DifferencePlayer {
  readonly #rateHz: number;
  readonly #weights: Float64Array;
  readonly #last: number;
  readonly #gain = new Ramp(1);
  #samples: DifferenceSamples | null = null;
  /** Heard before `#samples` came, until they have faded in. */
  #before: DifferenceSamples | null = null;
  #present = false;
  #heard = false;
  #position = 0;
  #swapPosition: number;

  constructor(rateHz: number) {
    this.#rateHz = rateHz;
    this.#last = fadeFrames(rateHz);
    this.#weights = fadeWeights(this.#last);
    this.#swapPosition = this.#last;
  }

  /** Something of it is in what was mixed last. */
  get sounds(): boolean {
    return this.#position > 0;
  }

  /** Null: there is none any more; what there was fades out. */
  load(samples: DifferenceSamples | null): void {
    this.#present = samples !== null;
    if (samples === null) return;
    this.#before = this.#samples;
    this.#samples = samples;
    this.#swapPosition = this.#position === 0 || this.#before === null ? this.#last : 0;
  }

  hear(heard: boolean, gain: number): void {
    this.#heard = heard;
    if (this.#position === 0) this.#gain.value = gain;
    this.#gain.moveTo(gain, gainSeconds * this.#rateHz);
  }

  /** Nothing sounds: what is wanted is in force at once. */
  settle(): void {
    this.#position = this.#heard && this.#present ? this.#last : 0;
    this.#swapPosition = this.#last;
  }

  /**
   * Puts it in the place of `outputs`. `loopFrame`: frame of the loop that went into the path with the first of them, `latencyFrames` before it comes out. `allowed`: false where only the path may be
   * heard.
   */
  mix(outputs: readonly Float64Array[], channels: number, frames: number, loopFrame: number, latencyFrames: number, allowed: boolean): void {
    const target = allowed && this.#heard && this.#present ? this.#last : 0;
    if (target === 0 && this.#position === 0) return;
    const samples = this.#samples!;
    const before = this.#before ?? samples;
    for (let i = 0; i < frames; i += 1) {
      if (this.#position < target) this.#position += 1;
      else if (this.#position > target) this.#position -= 1;
      if (this.#swapPosition < this.#last) this.#swapPosition += 1;
      const weight = this.#weights[this.#position]!;
      const newer = this.#weights[this.#swapPosition]!;
      const gain = this.#gain.next();
      const at = loopFrame + i - latencyFrames;
      for (let channel = 0; channel < channels; channel += 1) {
        const output = outputs[channel]!;
        const added = newer * sampleAt(samples, channel, at) + (1 - newer) * sampleAt(before, channel, at);
        output[i] = (1 - weight) * output[i]! + weight * gain * added;
      }
    }
    if (this.#swapPosition === this.#last) this.#before = null;
  }
}

/** Of a region that goes round. */
function sampleAt({ channels, startFrame, endFrame }: DifferenceSamples, channel: number, frame: number): number {
  const length = endFrame - startFrame;
  const at = (frame - startFrame) % length;
  return channels[channel < channels.length ? channel : 0]![at < 0 ? at + length : at]!;
}
