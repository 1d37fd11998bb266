/** Bytes as text and back (RFC 4648, section 4). Pure: no engine's own. */

const letters = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';
/** Pieces are a whole number of groups of three bytes, so that only the last is padded. */
const pieceBytes = 3 * 8192;

export function toBase64(bytes: Uint8Array): string {
  const pieces: string[] = [];
  for (let at = 0; at < bytes.length; at += pieceBytes) pieces.push(pieceToBase64(bytes.subarray(at, at + pieceBytes)));
  return pieces.join('');
}

function pieceToBase64(bytes: Uint8Array): string {
  let text = '';
  for (let at = 0; at < bytes.length; at += 3) {
    const group = (bytes[at]! << 16) | ((bytes[at + 1] ?? 0) << 8) | (bytes[at + 2] ?? 0);
    text += letters[group >> 18]! + letters[(group >> 12) & 63]! + (at + 1 < bytes.length ? letters[(group >> 6) & 63]! : '=') + (at + 2 < bytes.length ? letters[group & 63]! : '=');
  }
  return text;
}

const values = new Uint8Array(128).fill(255);
for (let value = 0; value < letters.length; value += 1) values[letters.charCodeAt(value)] = value;

/** @throws RangeError for text that is not base64 */
export function fromBase64(text: string): Uint8Array<ArrayBuffer> {
  if (text.length % 4 !== 0) throw new RangeError(`base64: expected groups of four letters, got ${text.length} letters`);
  const padding = text.endsWith('==') ? 2 : text.endsWith('=') ? 1 : 0;
  const bytes = new Uint8Array((text.length / 4) * 3 - padding);
  for (let from = 0, to = 0; from < text.length; from += 4, to += 3) {
    let group = 0;
    for (let k = 0; k < 4; k += 1) {
      const code = text.charCodeAt(from + k);
      const isPadding = from + k >= text.length - padding;
      const value = isPadding ? 0 : (values[code] ?? 255);
      if (value === 255) throw new RangeError(`base64: expected its letters, got ${JSON.stringify(text[from + k])}`);
      group = (group << 6) | value;
    }
    bytes[to] = group >> 16;
    if (to + 1 < bytes.length) bytes[to + 1] = (group >> 8) & 255;
    if (to + 2 < bytes.length) bytes[to + 2] = group & 255;
  }
  return bytes;
}
