/** Words on a plot: each at the best of its wished places that is on the panel and clear of other words, away from lines where it can be. */
import type { PanelBox } from './trace-runs.ts';
import { textWidthPx } from './text-width.ts';

/** A wished place. */
export interface LabelPlace {
  readonly x: number;
  readonly y: number;
  readonly anchor: 'start' | 'middle' | 'end';
  /** The less the better; added to what the lines beneath it cost. */
  readonly cost: number;
  /** Which way the words' own line is not: what stands near on that side could be taken for what they name. */
  readonly away?: 'up' | 'down';
  /** A thin line from here to the words, where they stand apart from what they name. */
  readonly leader?: readonly [x: number, y: number];
}

export interface LabelWish {
  /** The same from one drawing to the next. */
  readonly id: string;
  readonly text: string;
  /** Names of places are kept from one drawing to the next. */
  readonly places: Iterable<readonly [name: string, place: LabelPlace]>;
}

export interface PlacedLabel {
  readonly id: string;
  readonly text: string;
  readonly place: LabelPlace;
  readonly placeName: string;
}

/** Ascent and descent of the faces, in sizes of the type; room kept between words. */
const [ascent, descent, clearancePx] = [0.85, 0.3, 3];
const cellPx = 3;
/** Cost of a covered cell: words across a line are read badly, and may be taken for the name of the wrong one. */
const inkCost = 10;
/** The same near the words, and how far that reaches beside and beyond them, px. */
const nearCost = 2;
const [besidePx, beyondPx] = [4, 9];
/** What it is worth that a label stays where it was. */
const stayWorth = 30;

export function labelBox({ x, y, anchor }: LabelPlace, text: string, sizePx: number): PanelBox {
  const width = textWidthPx(text, sizePx);
  const left = anchor === 'start' ? x : anchor === 'end' ? x - width : x - width / 2;
  return { left, right: left + width, top: y - ascent * sizePx, bottom: y + descent * sizePx };
}

const meet = (a: PanelBox, b: PanelBox, apart: number): boolean => a.left < b.right + apart && b.left < a.right + apart && a.top < b.bottom + apart && b.top < a.bottom + apart;

/** The words and the room beside them and beyond them, but not towards their own line. */
function neighbourhood({ left, right, top, bottom }: PanelBox, away: 'up' | 'down'): PanelBox {
  return { left: left - besidePx, right: right + besidePx, top: away === 'up' ? top - beyondPx : top, bottom: away === 'down' ? bottom + beyondPx : bottom };
}

/** Ink of a panel in cells, with sums over all cells above and to the left, so that what a box covers is four look-ups. */
export class InkGrid {
  readonly #box: PanelBox;
  readonly #columns: number;
  readonly #rows: number;
  readonly #cells: Uint8Array;
  #sums: Uint32Array | null = null;

  constructor(box: PanelBox) {
    this.#box = box;
    this.#columns = Math.ceil((box.right - box.left) / cellPx) + 1;
    this.#rows = Math.ceil((box.bottom - box.top) / cellPx) + 1;
    this.#cells = new Uint8Array(this.#columns * this.#rows);
  }

  /** Marks the cells along a run of x, y, x, y, … within the box. */
  draw(run: readonly number[]): void {
    const { left, top } = this.#box;
    this.#sums = null;
    for (let k = 2; k < run.length; k += 2) {
      const [x0, y0] = [(run[k - 2]! - left) / cellPx, (run[k - 1]! - top) / cellPx];
      const [dx, dy] = [(run[k]! - left) / cellPx - x0, (run[k + 1]! - top) / cellPx - y0];
      const steps = Math.max(1, Math.ceil(Math.max(Math.abs(dx), Math.abs(dy))));
      for (let step = 0; step <= steps; step += 1) this.#mark(x0 + (dx * step) / steps, y0 + (dy * step) / steps);
    }
  }

  #mark(column: number, row: number): void {
    const [c, r] = [Math.floor(column), Math.floor(row)];
    if (c >= 0 && c < this.#columns && r >= 0 && r < this.#rows) this.#cells[r * this.#columns + c] = 1;
  }

  /** Marked cells that a box touches. */
  covered({ left, right, top, bottom }: PanelBox): number {
    const sums = (this.#sums ??= this.#sum());
    const clamp = (value: number, most: number): number => Math.min(most, Math.max(0, Math.floor(value)));
    const [c0, c1] = [clamp((left - this.#box.left) / cellPx, this.#columns), clamp((right - this.#box.left) / cellPx + 1, this.#columns)];
    const [r0, r1] = [clamp((top - this.#box.top) / cellPx, this.#rows), clamp((bottom - this.#box.top) / cellPx + 1, this.#rows)];
    const at = (row: number, column: number): number => sums[row * (this.#columns + 1) + column]!;
    return at(r1, c1) - at(r0, c1) - at(r1, c0) + at(r0, c0);
  }

  #sum(): Uint32Array {
    const wide = this.#columns + 1;
    const sums = new Uint32Array(wide * (this.#rows + 1));
    for (let row = 0; row < this.#rows; row += 1) {
      for (let column = 0, along = 0; column < this.#columns; column += 1) {
        along += this.#cells[row * this.#columns + column]!;
        sums[(row + 1) * wide + column + 1] = sums[row * wide + column + 1]! + along;
      }
    }
    return sums;
  }
}

/**
 * Places words one after another, those first that matter most; words that find no place clear of the others are left out (tables and read-outs have them).
 * `before` are the names of the places of the last drawing.
 */
export function placeLabels(wishes: readonly LabelWish[], panel: PanelBox, ink: InkGrid, sizePx: number, before: ReadonlyMap<string, string>): readonly PlacedLabel[] {
  const boxes: PanelBox[] = [];
  const placed: PlacedLabel[] = [];
  for (const { id, text, places } of wishes) {
    let best: { readonly cost: number; readonly box: PanelBox; readonly label: PlacedLabel } | null = null;
    for (const [placeName, place] of places) {
      const box = labelBox(place, text, sizePx);
      if (box.left < panel.left + 1 || box.right > panel.right || box.top < panel.top - 1 || box.bottom > panel.bottom) continue;
      if (boxes.some((other) => meet(box, other, clearancePx))) continue;
      const near = place.away === undefined ? 0 : nearCost * ink.covered(neighbourhood(box, place.away));
      const cost = place.cost + inkCost * ink.covered(box) + near - (before.get(id) === placeName ? stayWorth : 0);
      if (best === null || cost < best.cost) best = { cost, box, label: { id, text, place, placeName } };
    }
    if (best === null) continue;
    boxes.push(best.box);
    placed.push(best.label);
  }
  return placed;
}
