/** What sweeps of harmonics have in common: their axis, their gaps, where a line crosses a height. */
import { floorDb } from '../measure-path.ts';
import type { FigureAxis, FigureTrace } from './contract.ts';

export interface SweptHarmonics {
  /** Of the orders asked for, re the fundamental; −∞ for none. */
  readonly db: readonly number[];
  /** Ratio over the fundamental (F). */
  readonly thd: number;
}

/** Under the numerical floor there is nothing to be shown. */
export const isGap = (db: number): boolean => !(db >= floorDb);

/** From the floor of what is shown, in steps of 20 dB, to 0 dB or what stands above it. */
export function amountAxis(traces: readonly FigureTrace[]): FigureAxis {
  let least = 0;
  let most = 0;
  for (const { y } of traces) {
    for (let k = 0; k < y.length; k += 1) {
      if (y[k]! < least) least = y[k]!;
      if (y[k]! > most) most = y[k]!;
    }
  }
  return {
    label: 'harmonics', unit: 'dB re fundamental', scale: 'linear', written: 'plain', from: Math.min(-60, Math.max(floorDb, 20 * Math.floor(least / 20))), to: 20 * Math.ceil(most / 20),
  };
}

interface Place {
  readonly x: number;
  readonly y: number;
}

/** dB for each unit along. */
export const slopeOf = (a: Place, b: Place): number => (b.y - a.y) / (b.x - a.x);

/** Where a line through the places, in ascending order of x, crosses `height`, straight between them. */
export function crossings(line: readonly Place[], height: number): { readonly x: number; readonly upwards: boolean }[] {
  return line.slice(1).flatMap((b, k) => {
    const a = line[k]!;
    if (a.y < height === b.y < height) return [];
    const share = Number.isFinite(a.y) && Number.isFinite(b.y) ? (height - a.y) / (b.y - a.y) : 1;
    return [{ x: a.x + share * (b.x - a.x), upwards: b.y >= height }];
  });
}
