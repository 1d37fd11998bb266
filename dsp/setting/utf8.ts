/** UTF-8 bytes (The Unicode Standard, table 3-6); written here because neither Node nor the browser is in sight. */
export function utf8(text: string): Uint8Array {
  const bytes = new Uint8Array(3 * text.length);
  let at = 0;
  const put = (byte: number): void => {
    bytes[at] = byte;
    at += 1;
  };
  for (const character of text) {
    const code = character.codePointAt(0)!;
    if (code < 0x80) put(code);
    else if (code < 0x800) {
      put(0xc0 | (code >> 6));
      put(0x80 | (code & 0x3f));
    } else if (code < 0x10000) {
      put(0xe0 | (code >> 12));
      put(0x80 | ((code >> 6) & 0x3f));
      put(0x80 | (code & 0x3f));
    } else {
      put(0xf0 | (code >> 18));
      put(0x80 | ((code >> 12) & 0x3f));
      put(0x80 | ((code >> 6) & 0x3f));
      put(0x80 | (code & 0x3f));
    }
  }
  return bytes.subarray(0, at);
}
