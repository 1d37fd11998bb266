/**
 * A drag of one stage along the path. Holds passing state only: where it would be put down. The owner draws the mark and sends what `place` says.
 */

/** Movement before a press becomes a drag: less for a mouse than for a finger, which must still be able to tap. */
export const cellSlackPx = { mouse: 6, touch: 10 } as const;

interface CellBox { readonly left: number; readonly right: number; readonly top: number; readonly bottom: number }

export class CellDrag {
  readonly key: string;
  readonly pointerId: number;
  /** Place it came from. */
  readonly from: number;
  moved = false;
  /** Gap it would be put into: before cell `gap`, or after the last. */
  gap: number;
  readonly #startX: number;
  readonly #startY: number;
  readonly #slackPx: number;

  constructor(event: PointerEvent, key: string, from: number) {
    this.key = key;
    this.pointerId = event.pointerId;
    this.from = this.gap = from;
    this.#startX = event.clientX;
    this.#startY = event.clientY;
    this.#slackPx = event.pointerType === 'touch' ? cellSlackPx.touch : cellSlackPx.mouse;
  }

  /** Follows the pointer over the cells, which may stand on several lines; true when something is to be drawn anew. */
  move(event: PointerEvent, cells: readonly CellBox[]): boolean {
    const begun = !this.moved;
    if (begun && Math.hypot(event.clientX - this.#startX, event.clientY - this.#startY) <= this.#slackPx) return false;
    this.moved = true;
    const gap = gapAt(event.clientX, event.clientY, cells);
    const changed = begun || gap !== this.gap;
    this.gap = gap;
    return changed;
  }

  /** Place in the path when it is put down here. */
  get place(): number {
    return this.gap > this.from ? this.gap - 1 : this.gap;
  }
}

/** Gap nearest to a point: on the line of cells whose height it has, or else the nearest. */
export function gapAt(x: number, y: number, cells: readonly CellBox[]): number {
  const away = ({ top, bottom }: CellBox) => Math.max(0, top - y, y - bottom);
  const nearest = cells.reduce((least, cell) => Math.min(least, away(cell)), Infinity);
  const line = cells.flatMap((cell, index) => (away(cell) === nearest ? [{ middle: (cell.left + cell.right) / 2, index }] : []));
  return line.find(({ middle }) => x < middle)?.index ?? (line.at(-1)?.index ?? -1) + 1;
}
