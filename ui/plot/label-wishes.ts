/** Where the name of a trace and the words of a mark may stand. */
import type { LabelPlace } from './labels.ts';
import { textWidthPx } from './text-width.ts';
import type { PanelBox } from './trace-runs.ts';

/** Places looked at across a panel. */
const placesAlong = 36;
const gapPx = 4;
const columnPx = 2;
/** Room above the line of writing and below it, in sizes of the type. */
const [ascent, descent] = [0.78, 0.28];
/** Costs, in px of distance: a name apart from its trace; a name at the far left. */
const [leaderCost, leftCost] = [60, 12];

/** Where another line runs this near, px, a name could be either's. */
const [sharedPx, sharedCost] = [5, 40];

type Named = readonly [name: string, place: LabelPlace];

/** The highest and lowest place of a trace in each column of its panel, so that looking along it costs a few columns and not all its points. A run of one point is a point by itself. */
export class TraceReach {
  readonly #left: number;
  readonly #least: Float32Array;
  readonly #most: Float32Array;
  /** Places along x of points by themselves. */
  readonly #points: number[] = [];
  /** Ends along x; the first is beyond the last where there is nothing. */
  first = Infinity;
  last = -Infinity;

  constructor(runs: readonly (readonly number[])[], { left, right }: PanelBox) {
    this.#left = left;
    const columns = Math.max(1, Math.ceil((right - left) / columnPx) + 1);
    this.#least = new Float32Array(columns).fill(Infinity);
    this.#most = new Float32Array(columns).fill(-Infinity);
    for (const run of runs) {
      for (let k = 0; k < run.length; k += 2) {
        this.first = Math.min(this.first, run[k]!);
        this.last = Math.max(this.last, run[k]!);
      }
      if (run.length === 2) {
        this.#points.push(run[0]!);
        this.#take(this.#column(run[0]!), run[1]!);
      }
      for (let k = 2; k < run.length; k += 2) this.#segment(run[k - 2]!, run[k - 1]!, run[k]!, run[k + 1]!);
    }
  }

  #column(x: number): number {
    return Math.min(this.#least.length - 1, Math.max(0, Math.floor((x - this.#left) / columnPx)));
  }

  #take(column: number, y: number): void {
    this.#least[column] = Math.min(this.#least[column]!, y);
    this.#most[column] = Math.max(this.#most[column]!, y);
  }

  #segment(x0: number, y0: number, x1: number, y1: number): void {
    const [first, last] = [this.#column(x0), this.#column(x1)];
    this.#take(first, y0);
    this.#take(last, y1);
    const step = first <= last ? 1 : -1;
    // Where the line passes from a column to the next it belongs to both.
    for (let column = first; column !== last; column += step) {
      const edge = this.#left + columnPx * (step > 0 ? column + 1 : column);
      const y = y0 + ((y1 - y0) * (edge - x0)) / (x1 - x0);
      this.#take(column, y);
      this.#take(column + step, y);
    }
  }

  /**
   * Where a name may stand, each with a number of its own. The same columns of the panel for every line, however far it reaches, so that a label can stay where it is, and the
   * middle of a short one; of single points, these.
   */
  *places({ left, right }: PanelBox): Generator<readonly [n: number, x: number]> {
    if (this.#points.length > 0) {
      const every = Math.ceil(this.#points.length / placesAlong);
      for (let k = 0; k < this.#points.length; k += every) yield [k, this.#points[k]!];
      return;
    }
    yield [-1, (this.first + this.last) / 2];
    for (let n = 0; n < placesAlong; n += 1) yield [n, left + ((right - left) * (n + 0.5)) / placesAlong];
  }

  /** Null where the trace is not. */
  within(fromX: number, toX: number): readonly [highest: number, lowest: number] | null {
    let [least, most] = [Infinity, -Infinity];
    for (let column = this.#column(fromX); column <= this.#column(toX); column += 1) {
      least = Math.min(least, this.#least[column]!);
      most = Math.max(most, this.#most[column]!);
    }
    return least <= most ? [least, most] : null;
  }
}

/** Above and below the trace, best near its right end; then apart from it with a thin line. */
export function* traceLabelPlaces(reach: TraceReach, others: readonly TraceReach[], box: PanelBox, text: string, sizePx: number): Generator<Named> {
  const width = textWidthPx(text, sizePx);
  const { first, last } = reach;
  if (!(first <= last)) return;
  for (const [n, x] of reach.places(box)) {
    if (x < first || x > last) continue;
    const share = (x - box.left) / (box.right - box.left);
    const here = reach.within(x - 0.5, x + 0.5);
    if (here === null) continue;
    const [highest, lowest] = reach.within(x - width / 2, x + width / 2) ?? here;
    const line = (here[0] + here[1]) / 2;
    const shared = others.some((other) => {
      const there = other.within(x - 1, x + 1);
      return there !== null && there[0] - sharedPx < here[1] && there[1] + sharedPx > here[0];
    });
    const fromEnd = leftCost * Math.abs(share - 0.85) + (shared ? sharedCost : 0);
    const [above, below] = [highest - gapPx - descent * sizePx, lowest + gapPx + ascent * sizePx];
    yield [`above ${n}`, { x, y: above, anchor: 'middle', cost: fromEnd + (line - highest), away: 'up' }];
    yield [`below ${n}`, { x, y: below, anchor: 'middle', cost: fromEnd + 4 + (lowest - line), away: 'down' }];
    if (n >= 0 && n % 3 !== 1) continue;
    for (const [across, up] of [[22, -24], [-22, -24], [22, 24], [-22, 24], [40, -44], [-40, -44], [40, 44], [-40, 44], [64, -76], [-64, -76]] as const) {
      const y = line + up + (up > 0 ? ascent * sizePx : -descent * sizePx);
      yield [`apart ${n} ${across} ${up}`, { x: x + across, y, anchor: across > 0 ? 'start' : 'end', cost: leaderCost + Math.abs(up) / 2 + fromEnd, leader: [x, line] }];
    }
  }
}

/** Beside an upright, from the top down; the first free row is the nearest to the top. */
export function* uprightPlaces(x: number, box: PanelBox, sizePx: number): Generator<Named> {
  for (let row = 0; row < 6; row += 1) {
    const y = box.top + ascent * sizePx + 3 + row * (sizePx + 4);
    yield [`right ${row}`, { x: x + 5, y, anchor: 'start', cost: 5 * row }];
    yield [`left ${row}`, { x: x - 5, y, anchor: 'end', cost: 5 * row + 3 }];
  }
  const foot = box.bottom - 6;
  yield ['right foot', { x: x + 5, y: foot, anchor: 'start', cost: 30 }];
  yield ['left foot', { x: x - 5, y: foot, anchor: 'end', cost: 33 }];
}

/** Over or under a level, best at its right end. */
export function* levelPlaces(y: number, box: PanelBox, sizePx: number): Generator<Named> {
  const [over, under] = [y - gapPx, y + gapPx + ascent * sizePx];
  for (let share = 0; share <= 8; share += 1) {
    const x = box.right - 4 - ((box.right - box.left - 10) * share) / 8;
    const anchor = share === 0 ? 'end' : share === 8 ? 'start' : 'middle';
    yield [`over ${share}`, { x, y: over, anchor, cost: share }];
    yield [`under ${share}`, { x, y: under, anchor, cost: share + 2 }];
  }
}

/** Round a point, or a bracket so far to either side of it; then apart with a thin line. */
export function* pointPlaces(x: number, y: number, sizePx: number, besidePx = 0): Generator<Named> {
  const middle = y + 0.3 * sizePx;
  const [over, under] = [y - 9, y + 9 + ascent * sizePx];
  yield ['right', { x: x + besidePx + 9, y: middle, anchor: 'start', cost: 0 }];
  yield ['left', { x: x - besidePx - 9, y: middle, anchor: 'end', cost: 2 }];
  yield ['over', { x, y: over, anchor: 'middle', cost: 3 }];
  yield ['under', { x, y: under, anchor: 'middle', cost: 4 }];
  for (const up of [-28, 28, -48, 48, -76, 76]) {
    yield [`apart right ${up}`, { x: x + 18, y: y + up, anchor: 'start', cost: 20 + Math.abs(up), leader: [x, y] }];
    yield [`apart left ${up}`, { x: x - 18, y: y + up, anchor: 'end', cost: 22 + Math.abs(up), leader: [x, y] }];
  }
}

/** In the middle of a span, from the top down. */
export function* spanPlaces(fromX: number, toX: number, box: PanelBox, sizePx: number): Generator<Named> {
  for (let row = 0; row < 5; row += 1) {
    const y = box.top + ascent * sizePx + 3 + row * (sizePx + 4);
    yield [`within ${row}`, { x: (fromX + toX) / 2, y, anchor: 'middle', cost: 5 * row }];
    yield [`right ${row}`, { x: toX + 5, y, anchor: 'start', cost: 5 * row + 6 }];
    yield [`left ${row}`, { x: fromX - 5, y, anchor: 'end', cost: 5 * row + 8 }];
  }
}
