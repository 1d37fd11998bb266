import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { openingSetting, settingSha256, settingTextSha256, writeSetting } from '../../dsp/setting/index.ts';

describe('the checksum of a setting', () => {
  it('is what Node says of the bytes of the frozen file', () => {
    const setting = { ...openingSetting(), title: 'village hall, naïve 4.7 kΩ 𝄞' };
    const expected = createHash('sha256').update(writeSetting(setting), 'utf8').digest('hex');
    expect(settingSha256(setting)).toBe(expected);
    expect(settingTextSha256(writeSetting(setting))).toBe(expected);
  });
});
