// From the written score to timed MIDI messages: who plays what, when, how loud, with small seeded human deviations.

/** General MIDI programs, counted from 0. */
const programs = { clarinet: 71, piano: 0, bass: 32, 'bowed bass': 43 };

/** Sounding ranges as MIDI keys: B flat clarinet D3–B flat 6, piano, double bass with four strings E1–G4. */
const ranges = { clarinet: [50, 94], piano: [21, 108], bass: [28, 67], 'bowed bass': [28, 67] };

/** How far a player strays, one standard deviation, in seconds; never more than twice that. */
const timingSeconds = { clarinet: 0.008, piano: 0.005, bass: 0.007, 'bowed bass': 0.007 };

/** Silence before the first beat, so that a note may come early. */
export const leadInBeats = 1;
/** Rendered after the last beat: what rings on is folded back into the beginning. */
export const tailSeconds = 8;

const semitones = { C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 };

/** MIDI key of "C#4", "Bb2". */
function keyOf(name) {
  const match = /^([A-G])([#b]?)(-?\d)$/.exec(name);
  if (match === null) throw new Error(`note: expected a name like "C#4", got "${name}"`);
  const shift = { '#': 1, b: -1, '': 0 }[match[2]];
  return 12 * (Number(match[3]) + 1) + semitones[match[1]] + shift;
}

/** Roughly normal numbers, seeded (sum of four uniform ones from a linear congruential generator, held within two deviations). */
function seededDeviations(seed) {
  let state = seed >>> 0;
  const uniform = () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 4_294_967_296;
  };
  return () => Math.max(-2, Math.min(2, (uniform() + uniform() + uniform() + uniform() - 2) * Math.sqrt(3)));
}

/** Notes of a part as { keys, startBeat, beats, accent }, and a check that every bar is full. */
export function notesOf(piece, part) {
  const notes = [];
  let position = 0;
  part.notes.forEach((bar, index) => {
    for (const word of bar.split(' ').filter((each) => each !== '')) {
      const match = /^([^:]+):([\d.]+)([!?]?)$/.exec(word);
      if (match === null) throw new Error(`${piece.identifier}, ${part.instrument}, bar ${index + 1}: expected NOTE:BEATS, got "${word}"`);
      const beats = Number(match[2]);
      if (match[1] !== '-') notes.push({ keys: match[1].split('+').map(keyOf), startBeat: position, beats, accent: match[3] });
      position += beats;
    }
    const expected = (index + 1) * piece.beatsPerBar;
    const longNote = part.notes[index + 1] === '' || bar === '';
    if (position !== expected && !longNote) throw new Error(`${piece.identifier}, ${part.instrument}: expected bar ${index + 1} to end on beat ${expected}, got ${position}`);
  });
  if (position !== piece.bars * piece.beatsPerBar) throw new Error(`${piece.identifier}, ${part.instrument}: expected ${piece.bars * piece.beatsPerBar} beats, got ${position}`);
  const [firstDb, lastDb] = [part.swellDb?.[0][1], part.swellDb?.at(-1)[1]];
  if (firstDb !== lastDb) throw new Error(`${piece.identifier}, ${part.instrument}: expected the swell to end at ${firstDb} dB, where it begins, got ${lastDb}`);
  const [lowest, highest] = ranges[part.instrument];
  for (const key of notes.flatMap((note) => note.keys)) {
    if (key < lowest || key > highest) throw new Error(`${piece.identifier}, ${part.instrument}: expected keys ${lowest} to ${highest}, got ${key}`);
  }
  return notes;
}

/** Messages for one part, beats counted from the lead-in. */
export function performPart(piece, part, seed) {
  const deviation = seededDeviations(seed);
  const beatsOfSeconds = (seconds) => (seconds * piece.beatsPerMinute) / 60;
  const messages = [{ beat: 0, bytes: [0xc0, programs[part.instrument]] }];
  for (const note of notesOf(piece, part)) {
    const accentVelocity = ({ '!': 10, '?': -12, '': 0 })[note.accent];
    const early = part.overlapBeats === undefined ? deviation() * beatsOfSeconds(timingSeconds[part.instrument]) : 0;
    const start = leadInBeats + note.startBeat + early;
    const sounding = (note.beats + (part.overlapBeats ?? 0)) * part.lengthRatio;
    note.keys.forEach((key, voice) => {
      // A chord is rolled by a few milliseconds from below; its top note is voiced a little above the rest.
      const roll = voice * beatsOfSeconds(0.004);
      const voicing = note.keys.length > 1 && voice === note.keys.length - 1 ? 5 : 0;
      const velocity = Math.round(Math.max(1, Math.min(127, part.velocity + accentVelocity + voicing + 2.5 * deviation())));
      messages.push({ beat: start + roll, bytes: [0x90, key, velocity] }, { beat: start + sounding, bytes: [0x80, key, 64] });
    });
  }
  for (const [fromBar, toBar] of part.pedalBars ?? []) {
    const half = beatsOfSeconds(0.06);
    messages.push({ beat: leadInBeats + fromBar * piece.beatsPerBar + half, bytes: [0xb0, 64, 127] });
    messages.push({ beat: leadInBeats + toBar * piece.beatsPerBar - half / 2, bytes: [0xb0, 64, 0] });
  }
  const end = leadInBeats + piece.bars * piece.beatsPerBar + beatsOfSeconds(tailSeconds);
  messages.push({ beat: end, bytes: [0xb0, 123, 0] });
  return messages;
}
