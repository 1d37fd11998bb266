/** Checksums of text, as files carry them. */
import { sha256 } from '../math/index.ts';
import { utf8 } from './utf8.ts';

/** SHA-256 of the text's UTF-8 bytes, 64 hexadecimal digits. */
export function textSha256(text: string): string {
  return sha256(utf8(text));
}

/** "sha256:…" of the content written compactly, without its checksum field. */
export function checksumOf(content: object): string {
  return `sha256:${textSha256(JSON.stringify(content))}`;
}
