import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseWholeRecording } from '../../dsp/recording/index.ts';
import { answerTicket, excerptBytes, excerptFile, freezeSetting, mostEntries, openingSetting, parseSetting, parseTicket, parseTicketFile, readySetting, SettingError, verdicts, writeTicket } from '../../dsp/setting/index.ts';
import type { Ticket, TicketEntry } from '../../dsp/setting/index.ts';
import { parseBase64, writeBase64 } from '../../dsp/setting/base64.ts';

const seed = 20261126;

/** A quarter of a second of two channels, on codes of 16 bits. */
const rateHz = 48_000;
const channels = [0, 1].map((channel) => Float64Array.from({ length: 12_000 }, (_, frame) => (((frame * (37 + channel)) % 20_001) - 10_000) / 32_768));
const wav = excerptFile(channels.map((channel) => channel.subarray(1_000, 7_000)), rateHz);

const entry = (words: string, change: Partial<TicketEntry> = {}): TicketEntry => ({ date: '2026-11-26', words, verdict: 'not yet', measurement: { frequencyHz: 200, levelDbu: 4, fundamentalDbu: 3.98, orders: [{ order: 2, db: -62.125 }, { order: 9, db: -400 }] }, made: freezeSetting(openingSetting()), ...change });
const ticket: Ticket = {
  title: 'village hall, first look',
  programme: { title: 'piano, decaying notes', identifier: 'piano', sha256: 'd'.repeat(64), rateHz, trimDb: 0 },
  region: { startSeconds: 1.25, endSeconds: 3.5 },
  excerptWav: null,
  entries: [entry('hard on the decay of the low notes')],
};
const withExcerpt: Ticket = { ...ticket, excerptWav: wav };

const anyEntry: fc.Arbitrary<TicketEntry> = fc.record({
  date: fc.constant('2026-11-26'),
  words: fc.string({ unit: 'grapheme', maxLength: 60 }),
  verdict: fc.constantFrom(null, ...verdicts),
  measurement: fc.constantFrom(null, entry('').measurement),
  made: fc.constantFrom(freezeSetting(openingSetting()), freezeSetting(readySetting('hall-op-amp'))),
});
const anyTicket: fc.Arbitrary<Ticket> = fc.record({
  title: fc.string({ unit: 'grapheme', maxLength: 40 }),
  programme: fc.constant(ticket.programme),
  region: fc.constantFrom(null, ticket.region),
  excerptWav: fc.constantFrom(null, wav),
  entries: fc.array(anyEntry, { minLength: 1, maxLength: 4 }),
});

type Json = Record<string, unknown>;
/** The ticket's file with something in it changed; its own checksum follows, as a knowing hand would do it. */
function spoilt(change: (file: Json & { entries: (Json & { setting: Json })[]; excerpt: Json }) => void, of: Ticket = withExcerpt): string {
  const { checksum: _checksum, ...file } = JSON.parse(writeTicket(of)) as Parameters<typeof change>[0] & { checksum: string };
  change(file);
  const named = file.excerpt && typeof file.excerpt === 'object' ? { sha256: file.excerpt['sha256'], bytes: file.excerpt['bytes'] } : file.excerpt;
  return JSON.stringify({ ...file, checksum: `sha256:${createHash('sha256').update(JSON.stringify({ ...file, excerpt: named })).digest('hex')}` });
}

describe('a ticket', () => {
  it('comes back equal, and is written again with the same bytes', () => {
    fc.assert(fc.property(anyTicket, (any) => {
      const text = writeTicket(any);
      expect(parseTicket(text)).toEqual(any);
      expect(writeTicket(parseTicket(text))).toBe(text);
    }), { seed, numRuns: 40 });
  });

  it('holds each setting as the bytes of its own file, under the checksum of that file', () => {
    const { entries } = JSON.parse(writeTicket(ticket)) as { entries: { setting: object; settingSha256: string }[] };
    const text = `${JSON.stringify(entries[0]!.setting, null, 2)}\n`;
    expect(createHash('sha256').update(text).digest('hex')).toBe(entries[0]!.settingSha256);
    expect(parseSetting(text)).toEqual(openingSetting());
  });

  it('takes an answer and keeps what was said before, byte for byte', () => {
    const answered = answerTicket(ticket, entry('better', { verdict: 'right', made: freezeSetting(readySetting('evening-dance')) }));
    const again = parseTicket(writeTicket(answered));
    expect(again.entries.map(({ words }) => words)).toEqual(['hard on the decay of the low notes', 'better']);
    expect(again.entries[0]).toEqual(ticket.entries[0]);
  });

  it('takes the region along as a WAV file of 24 bits, exactly', () => {
    const { excerptWav } = parseTicket(writeTicket(withExcerpt));
    expect(excerptWav!.length).toBe(excerptBytes(2, 6_000));
    const { format, channels: heard } = parseWholeRecording(excerptWav!);
    expect(format).toMatchObject({ rateHz, encoding: 'pcm24', channelCount: 2 });
    heard.forEach((samples, channel) => expect(samples).toEqual(channels[channel]!.slice(1_000, 7_000)));
  });

  it.each([
    ['no JSON', '{"format"', /^file: expected a ticket in JSON/],
    ['a list', '[]', /^file: expected an object, got a list$/],
    ['null', 'null', /^file: expected an object, got null$/],
    ['another format', spoilt((file) => { file['format'] = 'stagebench/setting'; }), /^format: expected "stagebench\/ticket", got "stagebench\/setting"$/],
    ['a later version', spoilt((file) => { file['version'] = 2; }), /^version: expected 1, got 2$/],
    ['an unknown field', spoilt((file) => { file['owner'] = 'x'; }), /^owner: expected one of the fields format, /],
    ['no entries', spoilt((file) => { file['entries'] = [] as never; }), /^entries: expected at least one, got none$/],
    ['too many entries', spoilt((file) => { file['entries'] = new Array(mostEntries + 1).fill(file.entries[0]) as never; }), /^entries: expected a list of at most 100, got a list$/],
    ['a verdict of another kind', spoilt((file) => { file.entries[0]!['verdict'] = 'splendid'; }), /^entries\[0\]\.verdict: expected one of "right", "not yet", "wrong", got "splendid"$/],
    ['words that are none', spoilt((file) => { file.entries[0]!['words'] = 7; }), /^entries\[0\]\.words: expected text of at most 10000 characters, got 7$/],
    ['a setting with a stage that there is not', spoilt((file) => { (file.entries[0]!.setting['path'] as Json[])[0]!['stage'] = 'gone'; }), /^entries\[0\]\.setting: path\[0\]\.stage: expected one of /],
    ['a level that is no number', spoilt((file) => { (file.entries[0]!['measurement'] as { orders: Json[] }).orders[0]!['db'] = null; }), /^entries\[0\]\.measurement\.orders\[0\]\.db: expected a number from -400 to 100, got null$/],
    ['a region turned round', spoilt((file) => { file['region'] = { startSeconds: 2, endSeconds: 1 }; }), /^region\.endSeconds: expected more than 2 s, got 1$/],
    ['an excerpt that is no base 64', spoilt((file) => { file.excerpt['wavBase64'] = '****'; }), /^excerpt\.wavBase64: expected base 64, got "\*" at 0$/],
    ['an excerpt that is no WAV file', spoilt((file) => { file.excerpt['wavBase64'] = writeBase64(new Uint8Array(64)); }), /^excerpt: /],
    ['an excerpt at another rate', spoilt((file) => { file['programme'] = { ...ticket.programme, rateHz: 44_100 }; }), /^excerpt: expected samples at 44100 Hz, as was heard, got 48000$/],
    ['an excerpt cut short of what its header says', spoilt(() => undefined, { ...ticket, excerptWav: wav.slice(0, 44 + 6 * 10) }), /^excerpt: expected 6000 frames, as its header says, the file ends after 10$/],
    ['an excerpt that is too long', spoilt(() => undefined, { ...ticket, programme: { ...ticket.programme!, rateHz: 8_000 }, excerptWav: excerptFile([new Float64Array(248_000)], 8_000) }), /^excerpt: expected at most 30 s, got 31\.0 s$/],
  ])('with %s is refused in one sentence', (_what, text, sentence) => {
    expect(() => parseTicket(text)).toThrow(SettingError);
    expect(() => parseTicket(text)).toThrow(sentence);
  });

  it.each([2.5, 1, 40])('is refused with a harmonic of order %d: only what the bench measures again may stand in it', (order) => {
    const file = JSON.parse(writeTicket(ticket)) as { entries: { measurement: { orders: { order: number }[] } }[] };
    file.entries[0]!.measurement.orders[0]!.order = order;
    expect(() => parseTicketFile(JSON.stringify(file))).toThrow(`entries[0].measurement.orders[0].order: expected a whole number from 2 to 10, got ${order}`);
  });

  it('is refused where a checksum does not agree, and says which', () => {
    const disagreements = (change: Parameters<typeof spoilt>[0]) => parseTicketFile(spoilt(change)).disagreements;
    expect(disagreements(() => undefined)).toEqual([]);
    const changed = disagreements((file) => { file.entries[0]!.setting['title'] = 'another'; });
    expect(changed).toEqual([expect.stringMatching(/^entries\[0\]\.settingSha256: expected [0-9a-f]{64}, got [0-9a-f]{64}: the setting was changed after it was written$/)]);
    const within = disagreements((file) => {
      const { setting } = file.entries[0]!;
      setting['title'] = 'another';
      file.entries[0]!['settingSha256'] = createHash('sha256').update(`${JSON.stringify(setting, null, 2)}\n`).digest('hex');
    });
    expect(within, 'the setting has a checksum of its own').toHaveLength(1);
    const other = writeBase64(excerptFile(channels.map((channel) => channel.subarray(0, 6_000)), rateHz));
    expect(disagreements((file) => { file.excerpt['wavBase64'] = other; })).toEqual([expect.stringMatching(/^excerpt\.sha256: /)]);
    expect(disagreements((file) => { file.excerpt['bytes'] = 17; })).toEqual([`excerpt.bytes: expected ${wav.length}, got 17`]);
    const words = writeTicket(withExcerpt).replace('hard on the decay', 'soft on the decay');
    expect(parseTicketFile(words).disagreements).toEqual([expect.stringMatching(/^checksum: expected sha256:/)]);
    expect(() => parseTicket(words)).toThrow(/^checksum: .*the ticket was changed after it was written$/);
  });

  it('cut off anywhere or with any byte changed is refused in one sentence and never throws otherwise', () => {
    const text = writeTicket(ticket);
    for (let at = 0; at < text.length; at += 61) expect(() => parseTicket(text.slice(0, at)), `cut at ${at}`).toThrow(SettingError);
    fc.assert(fc.property(fc.nat(text.length - 1), fc.constantFrom('0', '"', '{', '-', ' '), (at, character) => {
      const damaged = `${text.slice(0, at)}${character}${text.slice(at + 1)}`;
      try {
        expect(writeTicket(parseTicket(damaged)), 'only blanks may differ').toBe(text);
      } catch (error) {
        if (!(error instanceof SettingError)) throw error;
        expect(error.message.length).toBeLessThan(2000);
      }
    }), { seed, numRuns: 300 });
  });
});

describe('base 64', () => {
  it('is what Node makes of the same bytes, both ways', () => {
    fc.assert(fc.property(fc.uint8Array({ maxLength: 300 }), (bytes) => {
      const text = Buffer.from(bytes).toString('base64');
      expect(writeBase64(bytes)).toBe(text);
      expect(parseBase64(text, 'x')).toEqual(bytes);
    }), { seed, numRuns: 300 });
    const long = Uint8Array.from({ length: 100_000 }, (_, at) => at % 251);
    expect(writeBase64(long)).toBe(Buffer.from(long).toString('base64'));
  });

  it.each(['A', 'AA=', 'AB==', 'AAB=', 'A===', '====', 'AA=A', 'é===', 'AA\n=', ' AAA'])('refuses %j', (text) => {
    expect(() => parseBase64(text, 'place')).toThrow(/^place: expected base 64/);
  });
});
