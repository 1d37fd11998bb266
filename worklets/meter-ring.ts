import type { MeterFrame } from './messages.ts';

/** Lines the ring holds: at 375 blocks a second about 170 ms, more than a frame of a slow page. */
const lineCount = 64;
const fieldCount = 11;
const headerBytes = 8;

/** Bytes of a ring's shared memory: a 32-bit line counter, padding, then lines of 64-bit numbers. */
export const meterRingBytes = headerBytes + lineCount * fieldCount * 8;

/** One writer, the audio thread: allocates nothing, never waits. Lines the reader did not fetch in time are overwritten. */
export class MeterRingWriter {
  readonly #counter: Int32Array;
  readonly #lines: Float64Array;
  #written = 0;

  constructor(memory: SharedArrayBuffer) {
    this.#counter = new Int32Array(memory, 0, 1);
    this.#lines = new Float64Array(memory, headerBytes);
    this.#written = Atomics.load(this.#counter, 0);
  }

  write(frame: MeterFrame): void {
    const at = (this.#written % lineCount) * fieldCount;
    const lines = this.#lines;
    lines[at] = frame.positionFrame;
    lines[at + 1] = frame.peakLeft;
    lines[at + 2] = frame.peakRight;
    lines[at + 3] = frame.limiterGain;
    lines[at + 4] = frame.load;
    lines[at + 5] = frame.lateBlocks;
    lines[at + 6] = frame.meanEvaluations;
    lines[at + 7] = frame.rescues;
    lines[at + 8] = frame.capHits;
    lines[at + 9] = frame.nonFinite;
    lines[at + 10] = frame.pathFrame;
    this.#written = (this.#written + 1) | 0;
    Atomics.store(this.#counter, 0, this.#written);
  }
}

/** One reader, the page, once a frame. A line may be torn when the reader is a whole ring behind: a meter shows it for one frame. */
export class MeterRingReader {
  readonly #counter: Int32Array;
  readonly #lines: Float64Array;
  #read = 0;

  constructor(memory: SharedArrayBuffer) {
    this.#counter = new Int32Array(memory, 0, 1);
    this.#lines = new Float64Array(memory, headerBytes);
  }

  /** The lines since the last call as one: largest peaks, smallest limiter gain, the rest from the newest; null when there is none. */
  read(): MeterFrame | null {
    const written = Atomics.load(this.#counter, 0);
    const count = Math.min(written - this.#read, lineCount);
    if (count <= 0) return null;
    let peakLeft = 0;
    let peakRight = 0;
    let limiterGain = 1;
    let at = 0;
    for (let line = written - count; line < written; line += 1) {
      at = (line % lineCount) * fieldCount;
      peakLeft = Math.max(peakLeft, this.#lines[at + 1]!);
      peakRight = Math.max(peakRight, this.#lines[at + 2]!);
      limiterGain = Math.min(limiterGain, this.#lines[at + 3]!);
    }
    this.#read = written;
    const field = (k: number) => this.#lines[at + k]!;
    return {
      positionFrame: field(0), peakLeft, peakRight, limiterGain, load: field(4), lateBlocks: field(5),
      meanEvaluations: field(6), rescues: field(7), capHits: field(8), nonFinite: field(9), pathFrame: field(10),
    };
  }
}
