/** What a recording looks like from afar: the lowest and the highest sample of all channels by blocks of frames. */

/** Pairs (lowest, highest), block by block, rounded to 24 bits; the last block may be shorter. */
export interface Overview {
  readonly frames: number;
  readonly framesPerBlock: number;
  readonly pairs: Float32Array<ArrayBuffer>;
}

/** Kept of the longest recording: 93 ms a block where an hour lasts. */
const mostBlocks = 1 << 16;
const firstFramesPerBlock = 64;

/** Makes the overview of a recording of any length as its samples pass by: two blocks become one whenever there are too many. */
export class OverviewMaker {
  #framesPerBlock = firstFramesPerBlock;
  readonly #pairs = new Float32Array(2 * mostBlocks);
  #blocks = 0;
  #inBlock = 0;
  #least = Infinity;
  #most = -Infinity;
  #frames = 0;

  take(channels: readonly (Float64Array | Float32Array)[], frames: number): void {
    for (let at = 0; at < frames;) {
      const count = Math.min(frames - at, this.#framesPerBlock - this.#inBlock);
      for (const channel of channels) {
        for (let i = at; i < at + count; i += 1) {
          const sample = channel[i]!;
          if (sample < this.#least) this.#least = sample;
          if (sample > this.#most) this.#most = sample;
        }
      }
      at += count;
      this.#inBlock += count;
      if (this.#inBlock === this.#framesPerBlock) this.#endBlock();
    }
    this.#frames += frames;
  }

  finish(): Overview {
    if (this.#inBlock > 0) this.#endBlock();
    return { frames: this.#frames, framesPerBlock: this.#framesPerBlock, pairs: this.#pairs.slice(0, 2 * this.#blocks) };
  }

  #endBlock(): void {
    // What is no number is neither low nor high.
    this.#pairs[2 * this.#blocks] = this.#least === Infinity ? 0 : this.#least;
    this.#pairs[2 * this.#blocks + 1] = this.#most === -Infinity ? 0 : this.#most;
    this.#least = Infinity;
    this.#most = -Infinity;
    this.#blocks += 1;
    this.#inBlock = 0;
    if (this.#blocks === mostBlocks) this.#halve();
  }

  #halve(): void {
    const pairs = this.#pairs;
    for (let block = 0; block < mostBlocks / 2; block += 1) {
      pairs[2 * block] = Math.min(pairs[4 * block]!, pairs[4 * block + 2]!);
      pairs[2 * block + 1] = Math.max(pairs[4 * block + 1]!, pairs[4 * block + 3]!);
    }
    this.#blocks /= 2;
    this.#framesPerBlock *= 2;
  }
}

/**
 * Columns for drawing, pairs as above, of the frames from `startFrame` to `endFrame`: of the samples where a column is shorter than a block and they lie in
 * memory (`channels`, from `firstFrame` of the recording on), else of the blocks.
 */
export function overviewColumns(
  overview: Overview, startFrame: number, endFrame: number, columns: number, memory: { readonly channels: readonly Float64Array[]; readonly firstFrame: number } | null,
): Float32Array<ArrayBuffer> {
  const drawn = new Float32Array(2 * columns);
  const length = endFrame - startFrame;
  const finer = length / columns < 2 * overview.framesPerBlock;
  for (let column = 0; column < columns; column += 1) {
    const from = Math.floor(startFrame + (column * length) / columns);
    const to = Math.max(from + 1, Math.floor(startFrame + ((column + 1) * length) / columns));
    const inMemory = finer && memory !== null && from >= memory.firstFrame && to <= memory.firstFrame + memory.channels[0]!.length;
    const [least, most] = inMemory ? ofSamples(memory.channels, from - memory.firstFrame, to - memory.firstFrame) : ofBlocks(overview, from, to);
    drawn[2 * column] = least;
    drawn[2 * column + 1] = most;
  }
  return drawn;
}

/** Largest magnitude from `startFrame` to `endFrame`, and of what else lies in the blocks that these cut. */
export function overviewPeak(overview: Overview, startFrame: number, endFrame: number): number {
  const [least, most] = ofBlocks(overview, startFrame, endFrame);
  return Math.max(-least, most);
}

function ofSamples(channels: readonly Float64Array[], from: number, to: number): [number, number] {
  let least = Infinity;
  let most = -Infinity;
  for (const channel of channels) {
    for (let i = from; i < to; i += 1) {
      const sample = channel[i]!;
      if (sample < least) least = sample;
      if (sample > most) most = sample;
    }
  }
  return least > most ? [0, 0] : [least, most];
}

function ofBlocks({ pairs, framesPerBlock }: Overview, from: number, to: number): [number, number] {
  const blocks = pairs.length / 2;
  if (blocks === 0) return [0, 0];
  const first = Math.min(blocks - 1, Math.floor(from / framesPerBlock));
  const end = Math.min(blocks, Math.max(first + 1, Math.ceil(to / framesPerBlock)));
  let least = Infinity;
  let most = -Infinity;
  for (let block = first; block < end; block += 1) {
    least = Math.min(least, pairs[2 * block]!);
    most = Math.max(most, pairs[2 * block + 1]!);
  }
  return [least, most];
}
