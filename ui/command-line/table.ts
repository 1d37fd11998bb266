/** Aligned columns for people, and comma-separated ones for machines. */
import { writeCsv } from '../plot/index.ts';

/** Rows of text under headings; every column but the first is aligned to the right, or those that are not `worded` where that is told. */
export function formatTable(headings: readonly string[], rows: readonly (readonly string[])[], worded: readonly boolean[] = [true]): string {
  const widths = headings.map((heading, column) => Math.max(heading.length, ...rows.map((row) => row[column]!.length)));
  const line = (cells: readonly string[]) => cells.map((cell, column) => (worded[column] === true ? cell.padEnd(widths[column]!) : cell.padStart(widths[column]!))).join('  ').trimEnd();
  return [line(headings), ...rows.map(line)].join('\n');
}

/** Headings and rows as comma-separated values. */
export function formatCsv(headings: readonly string[], rows: readonly (readonly string[])[]): string {
  return writeCsv([headings, ...rows]);
}

/** dB with one or more decimals and a true minus; "under" where nothing stands above the numerical floor. */
export function formatDb(db: number, decimals = 1): string {
  return db === -Infinity ? 'under -300' : db.toFixed(decimals);
}

/** To a tenth; never "-0.0". */
export function formatDegrees(degrees: number): string {
  return (Math.round(10 * degrees) / 10 + 0).toFixed(1);
}

export function print(text: string): void {
  process.stdout.write(`${text}\n`);
}

export function printJson(value: unknown): void {
  print(JSON.stringify(value));
}
