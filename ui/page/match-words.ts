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

/** With the band that differs most: "RMS 0.3 dB, 80 Hz +1.8 dB apart". Short, for it stands in the strip. */
export function differencesWords(differences: MatchDifferences): string {
  const rms = `RMS ${Math.abs(differences.rmsDb).toFixed(1)} dB`;
  const most = mostDifferent(differences);
  if (most === null) return `${rms} apart`;
  const band = `${hertzWords(most.nominalHz)} ${bandWords(most.differenceDb)}`;
  return Math.abs(most.differenceDb ?? 0) > 99 ? `${rms} apart, ${band}` : `${rms}, ${band} apart`;
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
