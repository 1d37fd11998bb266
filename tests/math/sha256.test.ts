import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import fc from 'fast-check';
import { Sha256, sha256 } from '../../dsp/math/index.ts';

const ascii = (text: string): Uint8Array => new TextEncoder().encode(text);

describe('SHA-256', () => {
  // Source: NIST, FIPS 180-4 example vectors.
  it.each([
    ['nothing', '', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855'],
    ['one block', 'abc', 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'],
    ['two blocks', 'abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq', '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1'],
    ['a million letters', 'a'.repeat(1_000_000), 'cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0'],
  ])('%s', (_name, text, expected) => {
    expect(sha256(ascii(text))).toBe(expected);
  });

  it('equals the platform\'s own for any bytes cut anywhere', () => {
    fc.assert(fc.property(fc.uint8Array({ maxLength: 400 }), fc.nat(400), (bytes, cut) => {
      const parts = new Sha256().update(bytes.subarray(0, cut)).update(bytes.subarray(cut)).digestHex();
      return parts === createHash('sha256').update(bytes).digest('hex') && parts === sha256(bytes);
    }), { seed: 20261125, numRuns: 500 });
  });

  it('is taken once', () => {
    const hash = new Sha256();
    hash.digestHex();
    expect(() => hash.digestHex()).toThrow('already');
    expect(() => hash.update(ascii('x'))).toThrow('after');
  });
});
