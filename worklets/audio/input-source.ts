import type { InputChannels } from '../messages.ts';

/** What comes in from a device, as a source of the path. Audio thread: allocates nothing, never throws; what is not a number becomes 0. */
export class InputSource {
  channels: InputChannels = 'mono';

  /** Channels that the path runs with. */
  get channelCount(): 1 | 2 {
    return this.channels === 'stereo' ? 2 : 1;
  }

  /**
   * From `offset` of what came in (no channel where nothing is connected, one or more else) into one output, or two in stereo. A single channel comes in on both.
   * Gives the largest magnitude.
   */
  fill(input: readonly Float32Array[], offset: number, outputs: readonly Float64Array[], frames: number): number {
    const left = input[0];
    const right = input[1] ?? left;
    let peak = 0;
    for (let i = 0; i < frames; i += 1) {
      const a = finite(left?.[offset + i]);
      const b = finite(right?.[offset + i]);
      const first = this.channels === 'mono' ? 0.5 * (a + b) : a;
      outputs[0]![i] = first;
      if (this.channels === 'stereo') outputs[1]![i] = b;
      peak = Math.max(peak, Math.abs(first), this.channels === 'stereo' ? Math.abs(b) : 0);
    }
    return peak;
  }
}

function finite(sample: number | undefined): number {
  return sample !== undefined && sample - sample === 0 ? sample : 0;
}
