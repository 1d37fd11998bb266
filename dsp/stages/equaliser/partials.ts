/** Which partials of a note a bell holds up. */
import { log2, power } from '../../math/index.ts';

export interface Partial {
  /** 1 is the fundamental. */
  readonly order: number;
  readonly hz: number;
}

/** Partials n f of a harmonic tone within the edges, up to 20 kHz; f > 0. */
export function partialsWithin(noteHz: number, [fromHz, toHz]: readonly [number, number]): readonly Partial[] {
  const first = Math.max(1, Math.ceil(fromHz / noteHz));
  const last = Math.floor(Math.min(toHz, 20e3) / noteHz);
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, k) => ({ order: first + k, hz: (first + k) * noteHz }));
}

/** Pitch of A above middle C, Hz (ISO 16:1975). */
export const concertHz = 440;
const steps: Readonly<Record<string, number>> = { C: -9, D: -7, E: -5, F: -4, G: -2, A: 0, B: 2 };
const names = ['C', 'C♯', 'D', 'E♭', 'E', 'F', 'F♯', 'G', 'A♭', 'A', 'B♭', 'B'];

/** Frequency of a note by name, equal temperament: "D4", "F#3", "Bb2", "e♭5". Null: no note. */
export function noteHertz(name: string): number | null {
  const found = /^\s*([A-Ga-g])\s*(#|♯|b|♭)?\s*(-?\d)\s*$/.exec(name);
  if (!found) return null;
  const [, letter, accidental, octave] = found;
  const shift = accidental === undefined ? 0 : accidental === '#' || accidental === '♯' ? 1 : -1;
  return concertHz * power(2, (steps[letter!.toUpperCase()]! + shift + 12 * (Number(octave) - 4)) / 12);
}

/** The nearest note's name: "A4". */
export function noteName(hz: number): string {
  const semitones = Math.round(12 * log2(hz / concertHz)) + 57;
  return `${names[((semitones % 12) + 12) % 12]!}${Math.floor(semitones / 12)}`;
}
