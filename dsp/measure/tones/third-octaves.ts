/** Third octaves, 20 Hz to 20 kHz: centres 10^(x/10) kHz, edges 10^(±1/20) to either side (IEC 61260-1:2014, base 10). */
import { pow10 } from '../../math/index.ts';

export interface ThirdOctave {
  readonly fromHz: number;
  readonly centreHz: number;
  readonly toHz: number;
}

/** x = −17 … 13. */
const [lowest, highest] = [-17, 13];

export const thirdOctaves: readonly ThirdOctave[] = Array.from({ length: highest - lowest + 1 }, (_, k) => {
  const x = lowest + k;
  return { fromHz: 1000 * pow10((x - 0.5) / 10), centreHz: 1000 * pow10(x / 10), toHz: 1000 * pow10((x + 0.5) / 10) };
});
