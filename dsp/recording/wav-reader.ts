import { PlainReader } from './plain-reader.ts';
import type { WavFormat } from './wav-format.ts';
import { WavScanner } from './wav-scanner.ts';

/** A header, or the word that its bytes go on. */
export type WavHeader = { readonly kind: 'format'; readonly format: WavFormat } | { readonly kind: 'need-more' };

/** Reads the header at the start of a file from however many of its bytes are there. Throws RecordingError on a foreign file. */
export function parseWavHeader(bytes: Uint8Array): WavHeader {
  const scanner = new WavScanner();
  scanner.push(bytes, 0);
  return scanner.format === null ? { kind: 'need-more' } : { kind: 'format', format: scanner.format };
}

/** Reads a WAV file in pieces of any size. */
export class WavReader extends PlainReader<WavFormat> {
  constructor() {
    super(new WavScanner(), 'data chunk', () => false);
  }
}
