/** A trace's points as unbroken runs of px, cut off at the edges of its panel. */
import type { FigureTrace } from '../../dsp/measure/figures/index.ts';
import type { AxisScale } from './scales.ts';

export interface PanelBox {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** More points than this for each px of width are drawn as the reach within that px. */
const pointsPerPx = 3;
/** Of more points than this, those that lie on the straight line between others are left out. */
const manyPoints = 200;
/** As near to that line, px: a tenth of the thinnest pen. */
const straightPx = 0.08;

/** Runs of x, y, x, y, …: a gap where either is not finite; lines end where they leave the box. */
export function traceRuns({ x, y, drawn }: FigureTrace, xScale: AxisScale, yScale: AxisScale, box: PanelBox): readonly (readonly number[])[] {
  const clipper = new Clipper(box);
  const crowded = x.length > pointsPerPx * (box.right - box.left);
  const lengthy = x.length > manyPoints && drawn === 'line';
  let run: number[] = [];
  const finish = (): void => {
    if (run.length > 0) clipper.add(crowded ? thinned(run) : lengthy ? straightened(run) : run);
    run = [];
  };
  for (let k = 0; k < x.length; k += 1) {
    const [across, up] = [xScale.place(x[k]!), yScale.place(y[k]!)];
    if (!(Number.isFinite(across) && Number.isFinite(up))) finish();
    else {
      if (drawn === 'stair' && run.length > 0) run.push(across, run.at(-1)!);
      run.push(across, up);
    }
  }
  finish();
  return clipper.runs;
}

/** Of points close to one another, within each px the first, the lowest, the highest and the last, in their order: the same ink with fewer points. */
function thinned(run: readonly number[]): number[] {
  const out: number[] = [];
  const push = (k: number): void => { out.push(run[2 * k]!, run[2 * k + 1]!); };
  const count = run.length / 2;
  for (let first = 0; first < count;) {
    const column = Math.floor(run[2 * first]!);
    let [last, lowest, highest] = [first, first, first];
    while (last + 1 < count && Math.floor(run[2 * (last + 1)]!) === column) {
      last += 1;
      if (run[2 * last + 1]! < run[2 * lowest + 1]!) lowest = last;
      if (run[2 * last + 1]! > run[2 * highest + 1]!) highest = last;
    }
    for (const k of [...new Set([first, Math.min(lowest, highest), Math.max(lowest, highest), last])]) push(k);
    first = last + 1;
  }
  return out;
}

/** Without points that the line through the others passes within `straightPx`, by the slopes that are still open from the last point kept (the "swinging door"). */
function straightened(run: readonly number[]): number[] {
  const out = [run[0]!, run[1]!];
  let [x0, y0, least, most] = [run[0]!, run[1]!, -Infinity, Infinity];
  for (let k = 2; k < run.length; k += 2) {
    const slopeOf = (offset: number): number => (run[k + 1]! + offset - y0) / (run[k]! - x0);
    if (k > 2 && !(run[k]! > x0 && slopeOf(0) >= least && slopeOf(0) <= most)) {
      [x0, y0, least, most] = [run[k - 2]!, run[k - 1]!, -Infinity, Infinity];
      out.push(x0, y0);
    }
    if (run[k]! > x0) [least, most] = [Math.max(least, slopeOf(-straightPx)), Math.min(most, slopeOf(straightPx))];
  }
  out.push(run.at(-2)!, run.at(-1)!);
  return out;
}

/** Cuts lines at a box; each part within is a run of its own. Segment against box after Liang and Barsky (1984). */
class Clipper {
  readonly runs: number[][] = [];
  readonly #box: PanelBox;

  constructor(box: PanelBox) {
    this.#box = box;
  }

  add(points: readonly number[]): void {
    if (points.length === 2) {
      // A point by itself, between gaps, is a line of no length: shown as a short one.
      const { left, right } = this.#box;
      if (this.#within(points[0]!, points[1]!)) this.runs.push([Math.max(left, points[0]! - 0.75), points[1]!, Math.min(right, points[0]! + 0.75), points[1]!]);
      return;
    }
    let run: number[] = [];
    for (let k = 2; k < points.length; k += 2) {
      const [x0, y0, x1, y1] = [points[k - 2]!, points[k - 1]!, points[k]!, points[k + 1]!];
      const part = this.#part(x0, y0, x1, y1);
      if (part === null) continue;
      const [enter, leave] = part;
      const goesOn = enter === 0 && run.length > 0;
      if (!goesOn) {
        run = [x0 + enter * (x1 - x0), y0 + enter * (y1 - y0)];
        this.runs.push(run);
      }
      run.push(x0 + leave * (x1 - x0), y0 + leave * (y1 - y0));
    }
  }

  #within(x: number, y: number): boolean {
    const { left, right, top, bottom } = this.#box;
    return x >= left && x <= right && y >= top && y <= bottom;
  }

  /** Shares of the segment at which it enters and leaves the box; null: it does not meet it. */
  #part(x0: number, y0: number, x1: number, y1: number): readonly [number, number] | null {
    if (this.#within(x0, y0) && this.#within(x1, y1)) return [0, 1];
    const { left, right, top, bottom } = this.#box;
    let [enter, leave] = [0, 1];
    for (const [step, room] of [[x0 - x1, x0 - left], [x1 - x0, right - x0], [y0 - y1, y0 - top], [y1 - y0, bottom - y0]] as const) {
      if (step === 0) {
        if (room < 0) return null;
        continue;
      }
      const share = room / step;
      if (step < 0) enter = Math.max(enter, share);
      else leave = Math.min(leave, share);
    }
    return enter <= leave ? [enter, leave] : null;
  }
}

/** Places within the box of points drawn apart: x, y, x, y, … */
export function tracePoints({ x, y }: FigureTrace, xScale: AxisScale, yScale: AxisScale, box: PanelBox): readonly number[] {
  const points: number[] = [];
  for (let k = 0; k < x.length; k += 1) {
    const [across, up] = [xScale.place(x[k]!), yScale.place(y[k]!)];
    if (across >= box.left - 0.01 && across <= box.right + 0.01 && up >= box.top - 0.01 && up <= box.bottom + 0.01) points.push(across, up);
  }
  return points;
}

/** Uprights from the foot of the box to each point; where several share a px, the highest. */
export function traceUprights({ x, y }: FigureTrace, xScale: AxisScale, yScale: AxisScale, box: PanelBox): readonly (readonly number[])[] {
  const highest = new Map<number, readonly number[]>();
  for (let k = 0; k < x.length; k += 1) {
    const [across, up] = [xScale.place(x[k]!), yScale.place(y[k]!)];
    if (!(across >= box.left - 0.01 && across <= box.right + 0.01 && up < box.bottom)) continue;
    const top = Math.max(box.top, up);
    const column = Math.floor(across);
    const there = highest.get(column);
    if (there === undefined || top < there[3]!) highest.set(column, [across, box.bottom, across, top]);
  }
  return [...highest.values()];
}
