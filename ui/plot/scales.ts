/** From values to places and back. */
import { scaleLinear, scaleLog } from 'd3-scale';
import type { FigureAxis } from '../../dsp/measure/figures/index.ts';

export interface AxisScale {
  readonly axis: FigureAxis;
  readonly fromPx: number;
  readonly toPx: number;
  /** Not finite for what the scale does not have: zero and below on a logarithmic one. */
  place(value: number): number;
  /** Never beyond the ends. */
  valueAt(px: number): number;
}

/** @throws RangeError where the ends are not finite, not apart, or not above zero on a logarithmic axis */
export function axisScale(axis: FigureAxis, fromPx: number, toPx: number): AxisScale {
  const { from, to, label } = axis;
  if (!(Number.isFinite(from) && Number.isFinite(to) && from !== to)) throw new RangeError(`axis ${label}: expected finite ends apart, got ${from} and ${to}`);
  if (axis.scale === 'logarithmic' && !(from > 0 && to > 0)) throw new RangeError(`axis ${label}: expected ends above 0 on a logarithmic axis, got ${from} and ${to}`);
  const scale = (axis.scale === 'logarithmic' ? scaleLog() : scaleLinear()).domain([from, to]).range([fromPx, toPx]);
  const [low, high] = [Math.min(fromPx, toPx), Math.max(fromPx, toPx)];
  return {
    axis, fromPx, toPx,
    place: axis.scale === 'logarithmic' ? (value) => (value > 0 ? scale(value) : NaN) : (value) => scale(value),
    valueAt: (px) => scale.invert(Math.min(high, Math.max(low, px))),
  };
}
