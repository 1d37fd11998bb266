/** What there is to say of the listener's own file on the bench: its rate and that of the output, how much of it is in memory. Pure. */
import { writeQuantity } from '../../dsp/path/index.ts';
import { timeWords } from './region-words.ts';
import type { BenchState } from './state.ts';

const rateWords = (hz: number): string => writeQuantity(hz, 'frequency', 'Hz');

/** Sentences, the shortest way that says all; empty where no own file plays. */
export function materialWords({ live: { programme, material, baseRateHz } }: BenchState): readonly string[] {
  if (programme?.origin !== 'own') return [];
  const { deviceHz } = material;
  const { startFrame, endFrame } = programme.onBench;
  const inMemory = endFrame - startFrame < programme.frames;
  const time = (frame: number) => timeWords(frame / programme.rateHz, 0);
  return [
    `${programme.readBy === 'browser' ? 'Decoded by the browser at' : 'File at'} ${rateWords(programme.rateHz)}, played at ${rateWords(baseRateHz)}${deviceHz !== null && deviceHz !== baseRateHz ? `; the output device runs at ${rateWords(deviceHz)} and what is behind the bench converts` : ''}.`,
    ...(inMemory ? [`On the bench: ${time(startFrame)} to ${time(endFrame)} of ${time(programme.frames)}. A region beyond brings another part.`] : []),
  ];
}
