/** Where the name of a trace and the words of a mark may stand. */
import type { LabelPlace } from './labels.ts';
import { textWidthPx } from './text-width.ts';
import type { PanelBox } from './trace-runs.ts';

/** Places looked at along a trace. */
const placesAlong = 28;
const gapPx = 4;
/** Room above the line of writing and below it, in sizes of the type. */
const [ascent, descent] = [0.78, 0.28];
/** Costs, in px of distance: a name apart from its trace; a name at the far left. */
const [leaderCost, leftCost] = [60, 12];

type Named = readonly [name: string, place: LabelPlace];

/** Reach of a trace's runs between two places, or null where it is not. */
function reachWithin(runs: readonly (readonly number[])[], fromX: number, toX: number): readonly [highest: number, lowest: number] | null {
  let [least, most] = [Infinity, -Infinity];
  const take = (y: number): void => {
    least = Math.min(least, y);
    most = Math.max(most, y);
  };
  for (const run of runs) {
    for (let k = 2; k < run.length; k += 2) {
      const [x0, y0, x1, y1] = [run[k - 2]!, run[k - 1]!, run[k]!, run[k + 1]!];
      const [a, b] = [Math.max(fromX, Math.min(x0, x1)), Math.min(toX, Math.max(x0, x1))];
      if (a > b) continue;
      if (x0 === x1) {
        take(y0);
        take(y1);
        continue;
      }
      take(y0 + ((y1 - y0) * (a - x0)) / (x1 - x0));
      take(y0 + ((y1 - y0) * (b - x0)) / (x1 - x0));
    }
  }
  return least <= most ? [least, most] : null;
}

/** Above and below the trace, best near its right end; then apart from it with a thin line. */
export function* traceLabelPlaces(runs: readonly (readonly number[])[], text: string, sizePx: number): Generator<Named> {
  const width = textWidthPx(text, sizePx);
  let [first, last] = [Infinity, -Infinity];
  for (const run of runs) {
    for (let k = 0; k < run.length; k += 2) {
      first = Math.min(first, run[k]!);
      last = Math.max(last, run[k]!);
    }
  }
  if (!(first <= last)) return;
  for (let n = 0; n < placesAlong; n += 1) {
    const share = (n + 0.5) / placesAlong;
    const x = first + (last - first) * share;
    const here = reachWithin(runs, x - 0.5, x + 0.5);
    if (here === null) continue;
    const [highest, lowest] = reachWithin(runs, x - width / 2, x + width / 2) ?? here;
    const line = (here[0] + here[1]) / 2;
    const fromEnd = leftCost * Math.abs(share - 0.85);
    const [above, below] = [highest - gapPx - descent * sizePx, lowest + gapPx + ascent * sizePx];
    yield [`above ${n}`, { x, y: above, anchor: 'middle', cost: fromEnd + (line - highest), away: 'up' }];
    yield [`below ${n}`, { x, y: below, anchor: 'middle', cost: fromEnd + 4 + (lowest - line), away: 'down' }];
    if (n % 3 !== 1) continue;
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

/** Round a point; then apart with a thin line. */
export function* pointPlaces(x: number, y: number, sizePx: number): Generator<Named> {
  const middle = y + 0.3 * sizePx;
  const [over, under] = [y - 9, y + 9 + ascent * sizePx];
  yield ['right', { x: x + 9, y: middle, anchor: 'start', cost: 0 }];
  yield ['left', { x: x - 9, y: middle, anchor: 'end', cost: 2 }];
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
