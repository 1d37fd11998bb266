/** Where a response has fallen off. */
import type { Complex } from '../../circuit/index.ts';
import { magnitude } from './complex.ts';

export const middleHz = 1000;
/** How far, and how closely, a −3 dB frequency is looked for. */
const widestRatio = 1e6;
const stepRatio = 1.5;
const bisections = 40;

/** Where the gain has fallen by 3 dB from that at 1 kHz, on either side, Hz; null within a factor of a million: never. */
export function bandEdge(response: (hertz: readonly number[]) => readonly Complex[], side: 'low' | 'high'): number | null {
  const gain = (hz: number): number => magnitude(response([hz])[0]!);
  const wanted = gain(middleHz) * Math.SQRT1_2;
  const step = side === 'low' ? 1 / stepRatio : stepRatio;
  let [inside, outside] = [middleHz, middleHz];
  while (gain(outside) > wanted) {
    inside = outside;
    outside *= step;
    if (outside > middleHz * widestRatio || outside < middleHz / widestRatio) return null;
  }
  for (let k = 0; k < bisections; k += 1) {
    const middle = Math.sqrt(inside * outside);
    if (gain(middle) > wanted) inside = middle;
    else outside = middle;
  }
  return Math.sqrt(inside * outside);
}
