/** The tables of a figure as text, comma-separated values and plain data. */
import type { Figure, FigureCell, FigureColumn, FigureTable } from '../../dsp/measure/figures/index.ts';
import { writeFigure } from './numbers.ts';

/** "level, dBu"; a prefixed column's unit stands in its cells. */
export function columnHeading({ label, unit, written }: FigureColumn): string {
  return unit === '' || written === 'prefixed' ? label : `${label}, ${unit}`;
}

/** A cell as people read it; empty for nothing. */
export function cellText(cell: FigureCell, column: FigureColumn): string {
  if (cell === null) return '';
  return typeof cell === 'string' ? cell : writeFigure(cell, column);
}

/** Headings and rows of one table as text, and which columns hold words. */
export function tableText({ columns, rows }: FigureTable): { readonly headings: readonly string[]; readonly rows: readonly (readonly string[])[]; readonly worded: readonly boolean[] } {
  return {
    headings: columns.map(columnHeading), rows: rows.map(({ cells }) => columns.map((column, index) => cellText(cells[index] ?? null, column))),
    worded: columns.map((_, index) => rows.some(({ cells }) => typeof cells[index] === 'string')),
  };
}

/** Enough to find any difference of circuits again, few enough to read: significant digits of a number in CSV. */
const csvDigits = 10;

/** Numbers in base units without a prefix; what is not finite is left empty. */
function csvCell(cell: FigureCell): string {
  if (typeof cell !== 'number') return cell ?? '';
  return Number.isFinite(cell) ? String(Number(cell.toPrecision(csvDigits)) + 0) : '';
}

/** Rows of fields as comma-separated values: RFC 4180 (Shafranovich, 2005), CR LF between records and none behind the last. */
export function writeCsv(rows: readonly (readonly string[])[]): string {
  return rows.map((row) => row.map((field) => (/[",\r\n]/.test(field) ? `"${field.replaceAll('"', '""')}"` : field)).join(',')).join('\r\n');
}

/** All tables of a figure, one below the other with an empty line between; a unit stands in its column's heading. */
export function figureCsv({ tables }: Figure): string {
  return tables.map(({ columns, rows }) => writeCsv([
    columns.map(({ label, unit }) => (unit === '' ? label : `${label}, ${unit}`)),
    ...rows.map(({ cells }) => columns.map((_, index) => csvCell(cells[index] ?? null))),
  ])).join('\r\n\r\n');
}

/** Plain data has no number for what is not finite. */
const plain = (value: number): number | null => (Number.isFinite(value) ? value : null);

/** A figure as plain data for machines: tables and traces, without how it is drawn. Gaps are null. */
export function figureData({ title, caption, panels, tables, remarks }: Figure): unknown {
  return {
    title, caption,
    tables: tables.map(({ columns, rows }) => ({
      columns: columns.map(({ label, unit }) => ({ label, unit })),
      rows: rows.map(({ cells }) => cells.map((cell) => (typeof cell === 'number' ? plain(cell) : cell))),
    })),
    panels: panels.map((panel) => ({
      title: panel.title,
      x: { label: panel.x.label, unit: panel.x.unit },
      left: { label: panel.left.label, unit: panel.left.unit },
      ...(panel.right ? { right: { label: panel.right.label, unit: panel.right.unit } } : {}),
      traces: panel.traces.map(({ id, label, axis, x, y }) => ({ id, label, axis, x: Array.from(x, plain), y: Array.from(y, plain) })),
      marks: panel.marks.map(({ x, toX, y, words }) => ({ ...(x === undefined ? {} : { x }), ...(toX === undefined ? {} : { toX }), ...(y === undefined ? {} : { y }), words })),
    })),
    remarks,
  };
}
