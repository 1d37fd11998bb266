import { describe, expect, it } from 'vitest';
import { concealmentWords, parseLongListening, writeLongListening } from '../../dsp/setting/index.ts';
import { longListening } from './comparisons.ts';

function changed(text: string, change: (file: never) => void): string {
  const file = JSON.parse(text) as never;
  change(file);
  return JSON.stringify(file);
}

describe('a long listening as a file', () => {
  it.each([
    ['just planned', longListening(null, 0)], ['under way', longListening(null, 5)], ['carried through', longListening('2026-11-26')], ['ended early', longListening('2026-11-26', 5)],
  ])('%s: read back as it was written, and in agreement with itself', (_, listening) => {
    const text = writeLongListening(listening);
    const read = parseLongListening(text);
    expect(read.listening).toEqual(listening);
    expect(read.disagreements).toEqual([]);
    expect(writeLongListening(read.listening)).toBe(text);
    expect(read.result === null).toBe(listening.ended === null);
  });

  it('says nothing of the sides before the end, and honestly how they are concealed', () => {
    const text = writeLongListening(longListening(null, 13));
    expect(text).toContain(concealmentWords);
    expect(JSON.parse(text)).toMatchObject({ ended: null, result: null });
    expect(Object.keys((JSON.parse(text) as { sittings: object[] }).sittings[0]!)).toEqual(['began', 'heardSeconds', 'toTheEnd', 'ease', 'fatigue', 'believed', 'noIdea', 'words']);
  });

  it.each<[string, string | null, (file: { result: unknown; plan: { seed: number }; sittings: { ease: number }[]; compared: { settingSha256: string } }) => void, RegExp]>([
    ['a rating changed afterwards', '2026-11-26', (file) => { file.sittings[2]!.ease = 1; }, /^result: expected what plan and sittings give/],
    ['another seed', '2026-11-26', (file) => { file.plan.seed = 13; }, /^result: expected what plan and sittings give/],
    ['a result before the end', null, (file) => { file.result = { words: [] }; }, /^result: expected null before the end/],
    ['another checksum', '2026-11-26', (file) => { file.compared.settingSha256 = '0'.repeat(64); }, /^compared\.settingSha256: expected/],
  ])('%s is told', (_, ended, change, sentence) => {
    const { disagreements } = parseLongListening(changed(writeLongListening(longListening(ended)), change as (file: never) => void));
    expect(disagreements.join('\n')).toMatch(sentence);
  });

  const text = writeLongListening(longListening('2026-11-26'));

  it.each<[string, string, string]>([
    ['too many sittings', changed(text, (file: { plan: { pairs: number } }) => { file.plan.pairs = 3; }), 'sittings: expected a list of at most 6'],
    ['half a sitting broken off', changed(text, (file: { brokenOff: number }) => { file.brokenOff = 0.5; }), 'brokenOff: expected a whole number from 0 to 100000, got 0.5'],
    ['a rating between', changed(text, (file: { sittings: { fatigue: number }[] }) => { file.sittings[0]!.fatigue = 2.5; }), 'sittings[0].fatigue: expected a whole number from 1 to 7, got 2.5'],
    ['a date that is none', changed(text, (file: { sittings: { began: string }[] }) => { file.sittings[0]!.began = 'yesterday'; }), 'sittings[0].began: expected a date and time such as 2026-11-26T20:15, got "yesterday"'],
    ['an hour that no day has', changed(text, (file: { sittings: { began: string }[] }) => { file.sittings[0]!.began = '2026-11-26T25:15'; }), 'sittings[0].began: expected a date and time such as 2026-11-26T20:15, got "2026-11-26T25:15"'],
    ['a day that no month has', changed(text, (file: { ended: string }) => { file.ended = '2026-99-99'; }), 'ended: expected a date such as 2026-11-25, got "2026-99-99"'],
    ['a plan that is none', changed(text, (file: { plan: { significance: number } }) => { file.plan.significance = 1; }), 'plan.significance: expected between 0 and 1, got 1'],
    ['half a file', text.slice(0, text.length / 2), 'file: expected a long listening in JSON'],
  ])('%s is refused', (_, given, sentence) => {
    expect(() => parseLongListening(given)).toThrow(sentence);
  });
});
