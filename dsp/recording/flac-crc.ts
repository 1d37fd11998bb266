/** Checksums of a FLAC frame (RFC 9639, from memory): polynomials x⁸ + x² + x + 1 and x¹⁶ + x¹⁵ + x² + 1, most significant bit first, from 0. */

function table(bits: 8 | 16, polynomial: number): Uint16Array {
  const top = 1 << (bits - 1);
  const mask = (1 << bits) - 1;
  return Uint16Array.from({ length: 256 }, (_, byte) => {
    let value = byte << (bits - 8);
    for (let k = 0; k < 8; k += 1) value = (value & top ? (value << 1) ^ polynomial : value << 1) & mask;
    return value;
  });
}

const table8 = table(8, 0x07);
const table16 = table(16, 0x8005);

/** Of the bytes from `start` to before `end`. */
export function crc8(bytes: Uint8Array, start: number, end: number): number {
  let value = 0;
  for (let at = start; at < end; at += 1) value = table8[value ^ bytes[at]!]!;
  return value;
}

/** Of the bytes from `start` to before `end`. */
export function crc16(bytes: Uint8Array, start: number, end: number): number {
  let value = 0;
  for (let at = start; at < end; at += 1) value = ((value << 8) & 0xffff) ^ table16[(value >> 8) ^ bytes[at]!]!;
  return value;
}
