/** What a figure gives in a terminal: its tables for people, JSON or CSV for machines, and its drawing as a file. */
import type { Figure } from '../../dsp/measure/figures/index.ts';
import { figureCsv, figureData, figureSvg, tableText } from '../plot/index.ts';
import type { Options, Words } from './arguments.ts';
import { InputFailure } from './failure.ts';
import { formatTable, print, printJson } from './table.ts';
import { writeAside } from './write-aside.ts';

/** Of every verb that gives a figure. */
export const figureOptions = { json: { type: 'boolean' }, csv: { type: 'boolean' }, svg: { type: 'string' } } as const satisfies Options;

export const figureOptionsHelp = `  --json      tables and traces as one JSON object
  --csv       the tables as comma-separated values in base units
  --svg FILE  the drawing as well, as a picture`;

/** Prints a figure as the words ask and writes its picture. @throws InputFailure where they ask for two forms at once, or for the picture of a table */
export async function giveFigure(figure: Figure, words: Words): Promise<void> {
  if (words.flag('json') && words.flag('csv')) throw new InputFailure('expected --json or --csv, got both');
  const svgPath = words.text('svg');
  if (svgPath !== undefined) {
    if (figure.panels.length === 0) throw new InputFailure(`--svg: "${figure.title}" is a table alone, there is nothing to draw`);
    await writeAside(svgPath, figureSvg(figure));
  }
  if (words.flag('json')) printJson(figureData(figure));
  else if (words.flag('csv')) print(figureCsv(figure));
  else print(figureText(figure));
}

/** Title, tables, the sentence, what has to be said about it. */
export function figureText(figure: Figure): string {
  const tables = figure.tables.map((table) => {
    const { headings, rows, worded } = tableText(table);
    return formatTable(headings, rows, worded);
  });
  return [figure.title, ...tables, [figure.caption, ...figure.remarks].filter((sentence) => sentence !== '').join('\n')].filter((part) => part !== '').join('\n\n');
}
