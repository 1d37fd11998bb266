/** Blocks over which the load is averaged. */
const window = 128;

/**
 * Share of the block's time spent in the processor, and blocks that came late, from the one clock an audio worklet has (whole milliseconds:
 * right on the average over many blocks). A block is late when wall clock and sample clock drift apart by more than 20 ms within a window.
 * Audio thread: allocates nothing.
 */
export class LoadMeter {
  load = 0;
  lateBlocks = 0;
  #began = 0;
  #spentMilliseconds = 0;
  #soundMilliseconds = 0;
  #blocks = 0;
  #leastLag = Infinity;
  #lagBefore = Infinity;

  begin(): void {
    this.#began = Date.now();
  }

  /** `soundSeconds`: sample clock at the block's start. */
  end(frames: number, rateHz: number, soundSeconds: number): void {
    this.#spentMilliseconds += Date.now() - this.#began;
    this.#soundMilliseconds += (1000 * frames) / rateHz;
    this.#leastLag = Math.min(this.#leastLag, this.#began - 1000 * soundSeconds);
    this.#blocks += 1;
    if (this.#blocks < window) return;
    this.load = this.#spentMilliseconds / this.#soundMilliseconds;
    const lost = this.#leastLag - this.#lagBefore;
    if (lost > 20) this.lateBlocks += Math.round((lost * rateHz) / (1000 * frames));
    this.#lagBefore = this.#leastLag;
    this.#leastLag = Infinity;
    this.#spentMilliseconds = 0;
    this.#soundMilliseconds = 0;
    this.#blocks = 0;
  }

  /** After a pause of the context the clocks start anew. */
  restart(): void {
    this.#lagBefore = Infinity;
    this.#leastLag = Infinity;
    this.#blocks = 0;
    this.#spentMilliseconds = 0;
    this.#soundMilliseconds = 0;
  }
}
