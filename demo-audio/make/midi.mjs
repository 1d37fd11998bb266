// A Standard MIDI File (format 0) from a list of timed messages. Source: "The Complete MIDI 1.0 Detailed Specification", Standard MIDI Files 1.0, from memory.

export const ticksPerBeat = 960;

const u16 = (value) => [(value >> 8) & 255, value & 255];
const u32 = (value) => [(value >>> 24) & 255, (value >>> 16) & 255, (value >>> 8) & 255, value & 255];

function variableLength(value) {
  const bytes = [value & 127];
  for (let rest = value >> 7; rest > 0; rest >>= 7) bytes.unshift((rest & 127) | 128);
  return bytes;
}

/**
 * Bytes of a file that plays `messages` ({ beat ≥ 0, bytes: [status, …] }, any order) at `beatsPerMinute`. Of messages on one tick, note-offs go
 * first and controllers before note-ons, so that a repeated key is struck anew and a pedal change takes effect with its chord.
 */
export function midiFile(messages, beatsPerMinute) {
  const rank = (status) => ({ 0x80: 0, 0xc0: 1, 0xb0: 2, 0x90: 3 })[status & 0xf0] ?? 1;
  const timed = messages.map(({ beat, bytes }) => ({ tick: Math.round(beat * ticksPerBeat), bytes }));
  timed.sort((a, b) => a.tick - b.tick || rank(a.bytes[0]) - rank(b.bytes[0]));
  const microseconds = Math.round(60e6 / beatsPerMinute);
  const track = [0, 0xff, 0x51, 3, ...u32(microseconds).slice(1)];
  let last = 0;
  for (const { tick, bytes } of timed) {
    track.push(...variableLength(tick - last), ...bytes);
    last = tick;
  }
  track.push(0, 0xff, 0x2f, 0);
  const text = (word) => [...word].map((letter) => letter.charCodeAt(0));
  return Uint8Array.from([...text('MThd'), ...u32(6), ...u16(0), ...u16(1), ...u16(ticksPerBeat), ...text('MTrk'), ...u32(track.length), ...track]);
}
