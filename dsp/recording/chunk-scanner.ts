/** Four bytes as text; those that are no printable character as \xNN. */
export const fourCharacters = (view: DataView, offset: number): string => {
  let text = '';
  for (let i = 0; i < 4; i += 1) {
    const code = view.getUint8(offset + i);
    text += code >= 32 && code < 127 ? String.fromCharCode(code) : `\\x${code.toString(16).padStart(2, '0')}`;
  }
  return text;
};

/**
 * Walks over bytes that arrive in pieces of any size: collects so many as are wanted next, or steps over them without keeping them. Memory is bounded by the longest
 * collected piece.
 */
export abstract class ChunkScanner {
  protected position = 0;
  protected skipBytes = 0;
  protected held = new Uint8Array(0);
  protected wantedBytes: number;

  constructor(wantedBytes: number) {
    this.wantedBytes = wantedBytes;
  }

  /** The first sample has been reached. */
  protected abstract isDone(): boolean;
  /** Takes the bytes that were wanted. Throws RecordingError on anything foreign. */
  protected abstract take(view: DataView): void;

  /** Takes bytes from `start` on; gives the index of the first byte not taken (the first sample, or the end). */
  push(bytes: Uint8Array, start: number): number {
    let at = start;
    while (!this.isDone() && at < bytes.length) {
      if (this.skipBytes > 0) {
        const step = Math.min(this.skipBytes, bytes.length - at);
        this.skipBytes -= step;
        at += step;
        this.position += step;
        continue;
      }
      const step = Math.min(this.wantedBytes - this.held.length, bytes.length - at);
      const joined = new Uint8Array(this.held.length + step);
      joined.set(this.held);
      joined.set(bytes.subarray(at, at + step), this.held.length);
      this.held = joined;
      at += step;
      this.position += step;
      if (this.held.length === this.wantedBytes) {
        const whole = this.held;
        this.held = new Uint8Array(0);
        this.take(new DataView(whole.buffer));
      }
    }
    return at;
  }
}
