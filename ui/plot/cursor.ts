/** What is read off a drawn figure at a place: pure, in values and px. */
import type { DrawnTrace, ScenePanel } from './scene.ts';
import { speakReading, writeReading } from './numbers.ts';

/** Points drawn apart are read this near, px. */
const nearPx = 8;

/** Index of the point nearest to a value along x; −1 where there is none. Points need not ascend. */
function nearestPoint({ trace: { x, y } }: DrawnTrace, value: number): number {
  let [best, distance] = [-1, Infinity];
  for (let k = 0; k < x.length; k += 1) {
    const away = Math.abs(x[k]! - value);
    if (away < distance && Number.isFinite(y[k]!)) [best, distance] = [k, away];
  }
  return best;
}

/** Index of the last point at or before a value; −1 before the first. For ascending x. */
function pointBefore(x: ArrayLike<number>, value: number): number {
  let [low, high] = [0, x.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (x[middle]! <= value) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** A trace's value at a place: between points on the straight line that is drawn; of a stair its tread; of points apart the nearest. NaN where nothing is drawn. */
export function readAt(drawn: DrawnTrace, panel: ScenePanel, value: number): number {
  const { trace, scale } = drawn;
  const { x, y } = trace;
  if (trace.drawn === 'points' || trace.drawn === 'uprights' || !ascends(x)) {
    const k = nearestPoint(drawn, value);
    return k >= 0 && Math.abs(panel.x.place(x[k]!) - panel.x.place(value)) <= nearPx ? y[k]! : NaN;
  }
  // A place read back from the scale may miss the last point by a rounding.
  const tolerance = 1e-9 * Math.abs(value);
  const k = pointBefore(x, value + tolerance);
  if (k < 0 || (k === x.length - 1 && value > x[k]! + tolerance)) return NaN;
  if (trace.drawn === 'stair' || k === x.length - 1 || x[k] === value) return y[k]!;
  const [from, to, at] = [panel.x.place(x[k]!), panel.x.place(x[k + 1]!), panel.x.place(value)];
  const [low, high] = [scale.place(y[k]!), scale.place(y[k + 1]!)];
  const px = low + ((high - low) * (at - from)) / (to - from);
  return Number.isFinite(px) ? unclamped(drawn, y[k]!, y[k + 1]!, low, high, px) : y[Math.abs(at - from) < 0.5 ? k : Math.abs(at - to) < 0.5 ? k + 1 : -1] ?? NaN;
}

/** Value at a px between two points, also beyond the ends of the axis. */
function unclamped({ scale: { axis } }: DrawnTrace, a: number, b: number, low: number, high: number, px: number): number {
  const share = high === low ? 0 : (px - low) / (high - low);
  return axis.scale === 'logarithmic' ? a * (b / a) ** share : a + (b - a) * share;
}

function ascends(x: ArrayLike<number>): boolean {
  return x.length < 2 || (x[0]! < x[x.length - 1]! && x[0]! <= x[1]!);
}

/** Places of a trace's own points on its panel, ascending, no two in the same px. */
export function stops({ trace: { x, y }, scale }: DrawnTrace, panel: ScenePanel): readonly number[] {
  const inside = Array.from({ length: x.length }, (_, k) => k).filter((k) => {
    const px = panel.x.place(x[k]!);
    return px >= panel.left - 0.01 && px <= panel.right + 0.01 && Number.isFinite(scale.place(y[k]!));
  }).map((k) => x[k]!).sort((a, b) => a - b);
  let last = -Infinity;
  return inside.filter((value, index) => {
    const px = panel.x.place(value);
    if (Math.abs(px - last) < 1 && index !== inside.length - 1) return false;
    last = px;
    return true;
  });
}

/** The stop so many further on; from nowhere, the first one met; infinitely many lead to the ends. */
export function stepped(all: readonly number[], from: number | null, by: number): number | null {
  if (all.length === 0) return null;
  if (!Number.isFinite(by)) return by > 0 ? all.at(-1)! : all[0]!;
  if (from === null) return by > 0 ? all[0]! : all.at(-1)!;
  const tolerance = 1e-9 * Math.abs(from);
  const next = by > 0 ? all.findIndex((value) => value > from + tolerance) : all.findLastIndex((value) => value < from - tolerance);
  if (next < 0) return by > 0 ? all.at(-1)! : all[0]!;
  return all[Math.min(all.length - 1, Math.max(0, next + by - Math.sign(by)))]!;
}

/** The stop nearest to a value. */
export function nearestStop(all: readonly number[], panel: ScenePanel, value: number): number | null {
  const at = panel.x.place(value);
  return all.reduce<number | null>((best, each) => (best === null || Math.abs(panel.x.place(each) - at) < Math.abs(panel.x.place(best) - at) ? each : best), null);
}

/** Index of the trace that runs nearest to a place of the panel; −1: none is there. */
export function nearestTrace(panel: ScenePanel, value: number, yPx: number): number {
  let [best, distance] = [-1, Infinity];
  panel.traces.forEach((drawn, index) => {
    const away = Math.abs(drawn.scale.place(readAt(drawn, panel, value)) - yPx);
    if (away < distance) [best, distance] = [index, away];
  });
  return best;
}

/** Its label, and that of the kept figure it belongs to. */
const nameOfTrace = ({ trace: { label }, kept }: DrawnTrace): string => (kept === null ? label : `${label}, ${kept}`);

/** "H3 at +4.0 dBu: minus 72.1 decibels" */
export function spokenReading(drawn: DrawnTrace, panel: ScenePanel, value: number): string {
  const read = readAt(drawn, panel, value);
  return `${nameOfTrace(drawn)} at ${writeReading(value, panel.x.axis)}: ${Number.isNaN(read) ? 'nothing here' : speakReading(read, drawn.scale.axis)}`;
}
