/** WAV files put together chunk by chunk, independently of the writer under test. */
export const ascii = (text: string): number[] => [...text].map((letter) => letter.charCodeAt(0));
export const u16 = (value: number): number[] => [value & 255, (value >> 8) & 255];
export const u32 = (value: number): number[] => [value & 255, (value >>> 8) & 255, (value >>> 16) & 255, (value >>> 24) & 255];

export function chunk(name: string, body: readonly number[], size = body.length): number[] {
  return [...ascii(name), ...u32(size), ...body, ...(body.length % 2 === 1 ? [0] : [])];
}

export interface FormatFields {
  tag: number;
  channels: number;
  rateHz: number;
  bits: number;
  blockBytes?: number;
  extra?: readonly number[];
}

export function formatBody({ tag, channels, rateHz, bits, blockBytes = (channels * bits) / 8, extra = [] }: FormatFields): number[] {
  return [...u16(tag), ...u16(channels), ...u32(rateHz), ...u32(rateHz * blockBytes), ...u16(blockBytes), ...u16(bits), ...extra];
}

/** The 24 bytes an extensible format adds: size, valid bits, speaker mask, sub-format. */
export function extensibleTail(subTag: number, validBits: number): number[] {
  return [...u16(22), ...u16(validBits), ...u32(3), ...u16(subTag), 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71];
}

export function riff(chunks: readonly number[][], outer = 'RIFF', inner = 'WAVE'): Uint8Array {
  const body = chunks.flat();
  return Uint8Array.from([...ascii(outer), ...u32(4 + body.length), ...ascii(inner), ...body]);
}
