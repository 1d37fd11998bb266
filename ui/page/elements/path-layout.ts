/** How the cells of the path stand in its width. Pure. */

export const widestCellPx = 104;
/** Below this the path wraps to a further line. */
export const narrowestCellPx = 72;

/** Number of cells on each line, and the width of all of them. At least one cell a line, whatever the room. */
export function layOutCells(count: number, roomPx: number): { readonly lines: readonly number[]; readonly cellPx: number } {
  if (count === 0) return { lines: [], cellPx: widestCellPx };
  const most = Math.max(1, Math.floor(roomPx / narrowestCellPx));
  const lineCount = Math.ceil(count / most);
  // Lines as even as they come, the longer ones first.
  const lines = Array.from({ length: lineCount }, (_, line) => Math.floor((count + lineCount - 1 - line) / lineCount));
  return { lines, cellPx: Math.min(widestCellPx, Math.floor(roomPx / lines[0]!)) };
}
