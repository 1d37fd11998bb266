/** What the equaliser says about itself. */
import type { LinearProgram, StageReading, StageRemark, StageValues } from '../contract.ts';
import { formatValue } from '../shared/format-value.ts';
import { frequencyMap } from './frequency-map.ts';
import { matchError } from './match-error.ts';
import { sectionsOf } from './prototype.ts';
import type { Bell, Shelf } from './prototype.ts';
import { bellReadOuts, bellSteepest, shelfReadOuts, wantedDbPerOctave } from './read-outs.ts';
import { proportionalAtDb } from './table.ts';

const rounded = (value: number, digits: number): number => Number(value.toFixed(digits));
const hertz = (hz: number): string => formatValue(Number(hz.toPrecision(3)), 'Hz');

/** Smaller errors are given as this, dB. */
const leastErrorDb = 1e-4;

function bellReadings(bell: Bell): readonly StageReading[] {
  const { edges, bandwidthOctaves, ringingSeconds, poleQuality } = bellReadOuts(bell);
  const name = `${bell.number} bell`;
  const steepest = bellSteepest(bell);
  return [
    { label: `${name}, Q`, value: bell.quality, quantity: 'quality', unit: '', note: `half gain; classic Q ${formatValue(rounded(bell.classicQuality, 2), '')}` },
    { label: `${name}, bandwidth`, value: bandwidthOctaves, quantity: 'ratio', unit: 'octaves', note: `${hertz(edges[0])} to ${hertz(edges[1])} at half gain` },
    { label: `${name}, steepest`, value: Math.abs(steepest.dbPerOctave), quantity: 'ratio', unit: 'dB/octave', note: `at ${hertz(steepest.hz)} and as far above` },
    ...(ringingSeconds === null ? [] : [{
      label: `${name}, ringing`, value: ringingSeconds, quantity: 'time' as const, unit: 's', note: `60 dB down: 2.2 Q/f0 with its poles' Q of ${formatValue(rounded(poleQuality, 2), '')}`,
    }]),
  ];
}

function shelfReadings(shelf: Shelf): readonly StageReading[] {
  const { steepest, steepOctaves, undershoot, overshoot, halfGainHz } = shelfReadOuts(shelf);
  const name = `${shelf.number} shelf`;
  return [
    { label: `${name}, steepest`, value: Math.abs(steepest.dbPerOctave), quantity: 'ratio', unit: 'dB/octave', note: `at ${hertz(steepest.hz)}` },
    { label: `${name}, steep over`, value: steepOctaves, quantity: 'ratio', unit: 'octaves', note: `with at least ${wantedDbPerOctave} dB/octave` },
    ...(undershoot === null ? [] : [{ label: `${name}, undershoot`, value: undershoot.db, quantity: 'ratio' as const, unit: 'dB', note: `at its foot, ${hertz(undershoot.hz)}` }]),
    ...(overshoot === null ? [] : [{ label: `${name}, overshoot`, value: overshoot.db, quantity: 'ratio' as const, unit: 'dB', note: `at its top, ${hertz(overshoot.hz)}` }]),
    ...(halfGainHz === shelf.hertz ? [] : [{ label: `${name}, half gain at`, value: halfGainHz, quantity: 'frequency' as const, unit: 'Hz' }]),
  ];
}

export function readings(values: StageValues, program: LinearProgram): readonly StageReading[] {
  const error = matchError(values, program);
  return [
    ...sectionsOf(values).flatMap((section) => (section.kind === 'bell' ? bellReadings(section) : shelfReadings(section))),
    {
      label: 'off the analogue curve', value: Math.max(leastErrorDb, Math.abs(error.db)), quantity: 'ratio', unit: 'dB',
      note: Math.abs(error.db) < leastErrorDb ? 'or less, to 20 kHz' : `at most, to 20 kHz; at ${hertz(error.hz)}`,
    },
    { label: 'off its phase', value: error.phaseDegrees, quantity: 'ratio', unit: '°', note: 'at most: what is missing above half the rate; a higher rate factor brings it nearer' },
  ];
}

const sectionWords = { 'low-shelf': 'low shelf', 'high-shelf': 'high shelf', bell: 'bell' } as const;

/** The sentence for a shelf that never gets steep; null for one that does. */
export function tiltWords(shelf: Shelf): string | null {
  const { steepest } = shelfReadOuts(shelf);
  const slope = Math.abs(steepest.dbPerOctave);
  if (slope >= wantedDbPerOctave) return null;
  return `never reaches ${wantedDbPerOctave} dB/octave (${slope.toFixed(1)} at most): below that it acts as a broad tilt (common practice, no source)`;
}

export function remarks(values: StageValues, program: LinearProgram): readonly StageRemark[] {
  const sections = sectionsOf(values);
  const { order } = frequencyMap(program.rateHz);
  return [
    ...sections.flatMap((section): StageRemark[] => {
      if (section.kind === 'bell') return [];
      const words = tiltWords(section);
      return words === null ? [] : [{ label: `${section.number} ${sectionWords[section.kind]}`, words }];
    }),
    ...(sections.some(({ kind }) => kind === 'bell') ? [{
      label: 'which Q', words: `between half-gain points, or the classic one 3 dB under the top: they differ by the square root of the gain. In proportion: the Q asked for holds at ${proportionalAtDb} dB`,
    }] : []),
    {
      label: 'curve', words: `that of the analogue prototype by design: ${order === 1 ? 'one section' : `${order} sections`} at this rate for each of second order`,
    },
    { label: 'polarity', words: 'kept' },
  ];
}
