/** Axes that hold what is drawn on them. */
import type { FigureAxis, FigureTrace } from './contract.ts';

/** Nothing falls off by rounding. */
const slack = 1e-9;

/** Least and largest of all finite numbers; null where there is none. */
export function spanOf(lists: readonly ArrayLike<number>[]): readonly [least: number, most: number] | null {
  let [least, most] = [Infinity, -Infinity];
  for (const list of lists) {
    for (let k = 0; k < list.length; k += 1) {
      const value = list[k]!;
      if (!Number.isFinite(value)) continue;
      if (value < least) least = value;
      if (value > most) most = value;
    }
  }
  return least <= most ? [least, most] : null;
}

/** A step of 1, 2 or 5 by which about `parts` cover the span. */
function roundStep(span: number, parts: number): number {
  let step = 1;
  while (step * parts < span) step *= 10;
  while (step * parts >= span * 10) step /= 10;
  if (step * parts >= 5 * span) return step / 5;
  return step * parts >= 2 * span ? step / 2 : step;
}

export interface LinearAxis {
  readonly label: string;
  readonly unit: string;
  readonly written?: FigureAxis['written'];
  /** At least so much is shown, middle kept. */
  readonly leastSpan: number;
  /** Values beyond these are cut off at the edge. */
  readonly bounds?: readonly [number, number];
}

/** A linear axis for what the traces have on that side, ends on round numbers. */
export function linearAxis({ label, unit, written = 'plain', leastSpan, bounds = [-Infinity, Infinity] }: LinearAxis, traces: readonly FigureTrace[], side: FigureTrace['axis'] = 'left'): FigureAxis {
  const [least, most] = spanOf(traces.filter(({ axis }) => axis === side).map(({ y }) => y)) ?? [0, 0];
  const missing = Math.max(0, leastSpan - (most - least)) / 2;
  const [low, high] = [Math.max(bounds[0], least - missing), Math.min(bounds[1], most + missing)];
  const step = roundStep(high - low, 8);
  return { label, unit, scale: 'linear', written, from: step * Math.floor(low / step + slack), to: step * Math.ceil(high / step - slack) };
}

export const frequencyAxis = (fromHz: number, toHz: number): FigureAxis => ({ label: 'frequency', unit: 'Hz', scale: 'logarithmic', written: 'prefixed', from: fromHz, to: toHz });
