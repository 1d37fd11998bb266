/** Checksums of text, as files carry them. */
import { sha256 } from '../math/index.ts';
import { describe } from './setting-error.ts';
import { utf8 } from './utf8.ts';

/** SHA-256 of the text's UTF-8 bytes, 64 hexadecimal digits. */
export function textSha256(text: string): string {
  return sha256(utf8(text));
}

/** A stated checksum as a refusal may show it: bare where it could be one. */
export function shownChecksum(stated: unknown): string {
  return typeof stated === 'string' && /^[a-z0-9:]{1,80}$/.test(stated) ? stated : describe(stated);
}

/** "sha256:…" of the content written compactly, without its checksum field. */
export function checksumOf(content: object): string {
  return `sha256:${textSha256(JSON.stringify(content))}`;
}
