import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

// The scripts are plain Node modules; what the tests use of them is typed here.
const make = (name: string): Promise<unknown> => import(/* @vite-ignore */ new URL(`../../demo-audio/make/${name}.mjs`, import.meta.url).href);
const { midiFile } = (await make('midi')) as { midiFile(messages: { beat: number; bytes: number[] }[], beatsPerMinute: number): Uint8Array };
const { fold, soften, swellDbAt, fadeGain } = (await make('mix')) as {
  fold(signal: Float64Array, firstFrame: number, frames: number): Float64Array;
  soften(loop: Float64Array, cornerHz: number, rateHz: number): Float64Array;
  swellDbAt(points: [number, number][], beat: number): number;
  fadeGain(index: number, frames: number, fadeFrames: number): number;
};
interface Part { instrument: string; notes: string[]; pedalBars?: [number, number][]; swellDb?: [number, number][] }
interface Piece { identifier: string; bars: number; beatsPerBar: number; beatsPerMinute: number; parts: Part[] }
const { notesOf, performPart } = (await make('performance')) as {
  notesOf(piece: Piece, part: Part): { keys: number[]; startBeat: number; beats: number }[];
  performPart(piece: Piece, part: Part, seed: number): { beat: number; bytes: number[] }[];
};
const score = JSON.parse(readFileSync(new URL('../../demo-audio/score.json', import.meta.url), 'utf8')) as { pieces: Piece[] };

describe('the MIDI writer', () => {
  it('writes the bytes of a small file, note-offs first', () => {
    const messages = [{ beat: 0, bytes: [0x90, 60, 64] }, { beat: 1, bytes: [0x90, 60, 64] }, { beat: 1, bytes: [0x80, 60, 64] }];
    expect([...midiFile(messages, 120)]).toEqual([
      0x4d, 0x54, 0x68, 0x64, 0, 0, 0, 6, 0, 0, 0, 1, 0x03, 0xc0, // MThd, format 0, one track, 960 ticks
      0x4d, 0x54, 0x72, 0x6b, 0, 0, 0, 24,
      0, 0xff, 0x51, 3, 0x07, 0xa1, 0x20, // 500,000 µs a beat
      0, 0x90, 60, 64,
      0x87, 0x40, 0x80, 60, 64, // 960 as a variable-length number
      0, 0x90, 60, 64,
      0, 0xff, 0x2f, 0,
    ]);
  });
});

describe('the score', () => {
  it.each(score.pieces.flatMap((piece) => piece.parts.map((part) => [`${piece.identifier}, ${part.instrument}`, piece, part] as const)))('%s: full bars, playable, one note at a time but for the piano', (_name, piece, part) => {
    const notes = notesOf(piece, part);
    expect(notes.length > 0).toBe(true);
    if (part.instrument !== 'piano') expect(notes.every((note) => note.keys.length === 1)).toBe(true);
    const messages = performPart(piece, part, 1);
    const count = (status: number): number => messages.filter(({ bytes }) => bytes[0] === status).length;
    expect(count(0x90)).toBe(notes.reduce((sum, note) => sum + note.keys.length, 0));
    expect(count(0x80)).toBe(count(0x90));
    expect(messages.every(({ beat }) => beat >= 0)).toBe(true);
    expect(performPart(piece, part, 1)).toEqual(messages);
  });

  it('refuses what cannot be played', () => {
    const piece = { identifier: 'x', bars: 1, beatsPerBar: 3, beatsPerMinute: 60, parts: [] };
    const notes = (instrument: string, bar: string) => () => notesOf(piece, { instrument, notes: [bar] });
    expect(notes('clarinet', 'D3:1 E3:1')).toThrow('expected bar 1 to end on beat 3, got 2');
    expect(notes('clarinet', 'C3:3')).toThrow('expected keys 50 to 94, got 48');
    expect(notes('bass', 'H2:3')).toThrow('expected a name like "C#4", got "H2"');
    expect(() => notesOf(piece, { instrument: 'bass', notes: ['E2:3'], swellDb: [[0, -3], [3, 0]] })).toThrow('expected the swell to end at -3 dB, where it begins, got 0');
    expect(notes('bass', 'E2')).toThrow('expected NOTE:BEATS, got "E2"');
  });

  it('names keys as the octaves are counted: A4 is key 69, B flat 2 key 46, C sharp 2 key 37', () => {
    const piece = { identifier: 'x', bars: 1, beatsPerBar: 3, beatsPerMinute: 60, parts: [] };
    expect(notesOf(piece, { instrument: 'piano', notes: ['A4:1 Bb2+C#2:2'] }).map((note) => note.keys)).toEqual([[69], [46, 37]]);
  });
});

describe('folding and shaping', () => {
  it('adds what rings on to the beginning and what comes early to the end', () => {
    expect([...fold(Float64Array.of(1, 2, 3, 4, 5, 6, 7), 1, 3)]).toEqual([2 + 5, 3 + 6, 1 + 4 + 7]);
  });

  it('softens a loop as a filter that has always been running: 3 dB at its corner, no start', () => {
    const tone = Float64Array.from({ length: 4_800 }, (_, i) => Math.cos((2 * Math.PI * 10 * i) / 480));
    const soft = soften(tone, 1_000, 48_000);
    const peak = Math.max(...soft);
    // 0.1 dB: exponential smoothing is a little off the analogue curve at a 48th of the rate.
    expect(Math.abs(20 * Math.log10(peak) + 3.01) <= 0.1, String(20 * Math.log10(peak))).toBe(true);
    for (let i = 0; i < 480; i += 1) expect(Math.abs(soft[i]! - soft[i + 4_320]!) <= 1e-9).toBe(true);
  });

  it('joins swell points smoothly, and fades so that two overlapping notes keep their power', () => {
    expect(Math.abs(swellDbAt([[0, -3], [4, 1]], 2) + 1) <= 1e-12).toBe(true);
    expect(swellDbAt([[0, -3], [4, 1]], 9)).toBe(1);
    for (let i = 0; i <= 100; i += 1) {
      const power = fadeGain(i, 500, 100) ** 2 + fadeGain(i + 400, 500, 100) ** 2;
      expect(Math.abs(power - 1) <= 1e-12).toBe(true);
    }
  });
});
