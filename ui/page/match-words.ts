/** The level match, and what differs all the same, in words. Pure. */
import { mostDifferent, type MatchDifferences } from '../../dsp/measure/index.ts';
import type { MatchState } from './state.ts';

/** The state's heading and the lines under it; `inside` and `out`: what the two sides are called. */
export function matchWords(match: MatchState, out: string, inside = 'in circuit'): { readonly heading: string; readonly lines: readonly string[] } {
  switch (match.kind) {
    case 'off': return { heading: 'match off', lines: ['in and out at their own levels'] };
    case 'stale': return { heading: 'stale since a change', lines: ['measured again in a moment'] };
    case 'measuring': return { heading: 'measuring', lines: [] };
    case 'cannot-match': return { heading: 'cannot match', lines: [match.why] };
    case 'matched': return {
      heading: 'matched',
      lines: [turnedDown(match.inGainDb, match.outGainDb, inside, out), `${Math.abs(match.residualDb).toFixed(2)} dB left over`, ...(match.waitsForSwitch ? ['waits for the next switch'] : [])],
    };
  }
}

function turnedDown(inGainDb: number, outGainDb: number, inside: string, out: string): string {
  if (inGainDb < -0.005) return `${inside} turned down ${(-inGainDb).toFixed(2)} dB`;
  if (outGainDb < -0.005) return `${out} turned down ${(-outGainDb).toFixed(2)} dB`;
  return 'nothing turned down';
}

/** "RMS 0.3 dB apart, most at 80 Hz: +1.8 dB" */
export function differencesWords(differences: MatchDifferences): string {
  const rms = `RMS ${Math.abs(differences.rmsDb).toFixed(1)} dB apart`;
  const most = mostDifferent(differences);
  return most === null ? rms : `${rms}, most at ${hertzWords(most.nominalHz)}: ${bandWords(most.differenceDb)}`;
}

/** "+1.8 dB"; where one side has nothing there, that. */
export function bandWords(differenceDb: number | null): string {
  if (differenceDb === null) return 'no signal';
  if (Math.abs(differenceDb) > 99) return differenceDb > 0 ? 'only in the first' : 'only in the second';
  const rounded = Math.round(10 * differenceDb) / 10 + 0;
  return `${rounded > 0 ? '+' : rounded < 0 ? '−' : ''}${Math.abs(rounded).toFixed(1)} dB`;
}

/** "80 Hz", "3.15 kHz" */
export function hertzWords(nominalHz: number): string {
  return nominalHz < 1000 ? `${nominalHz} Hz` : `${nominalHz / 1000} kHz`;
}
