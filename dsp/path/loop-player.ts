/** Frames of a recording, end not included. */
export interface RegionFrames {
  readonly startFrame: number;
  readonly endFrame: number;
}

const silence: readonly Float64Array[] = [new Float64Array(1)];

/**
 * A loop in memory, played to the sample; of a long recording a stretch may be there, yet all frames are counted from the recording's start. Audio thread:
 * `fill` allocates nothing, never throws.
 */
export class LoopPlayer {
  #channels = silence;
  /** Of the recording: the first one in memory. */
  #first = 0;
  #start = 0;
  #end = 1;
  frame = 0;

  get channelCount(): number {
    return this.#channels.length;
  }

  get startFrame(): number {
    return this.#start;
  }
  get endFrame(): number {
    return this.#end;
  }

  load(channels: readonly Float64Array[], region: RegionFrames, frame: number, firstFrame = 0): void {
    this.#channels = channels;
    this.#first = firstFrame;
    this.setRegion(region);
    this.frame = frame;
    this.#keepInside();
  }

  /** At least one frame, within what is in memory. A position outside goes to the region's start. */
  setRegion({ startFrame, endFrame }: RegionFrames): void {
    const end = this.#first + this.#channels[0]!.length;
    this.#start = Math.max(this.#first, Math.min(end - 1, Math.floor(startFrame)));
    this.#end = Math.max(this.#start + 1, Math.min(end, Math.floor(endFrame)));
  }

  contains(frame: number): boolean {
    return frame >= this.#start && frame < this.#end;
  }

  seek(frame: number): void {
    this.frame = Math.floor(frame);
    this.#keepInside();
  }

  /** Fills the outputs, one for each channel of the loop; true when the region's start was passed. */
  fill(outputs: readonly Float64Array[], frames: number): boolean {
    let wrapped = false;
    this.#keepInside();
    for (let i = 0; i < frames; i += 1) {
      if (this.frame >= this.#end) {
        this.frame = this.#start;
        wrapped = true;
      }
      for (let channel = 0; channel < this.#channels.length; channel += 1) outputs[channel]![i] = this.#channels[channel]![this.frame - this.#first]!;
      this.frame += 1;
    }
    return wrapped;
  }

  #keepInside(): void {
    if (!(this.frame >= this.#start && this.frame <= this.#end)) this.frame = this.#start;
  }
}
