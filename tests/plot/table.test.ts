import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { FigureTable } from '../../dsp/measure/figures/index.ts';
import { figureCsv, figureData, tableText, writeCsv } from '../../ui/plot/index.ts';
import { figureOf, panelOf, traceOf } from './figures.ts';

/** Records of RFC 4180 text, section 2. */
function parseCsv(text: string): string[][] {
  const records: string[][] = [[]];
  for (let at = 0; ;) {
    const [whole, quoted] = /^(?:"((?:[^"]|"")*)"|[^",\r\n]*)/.exec(text.slice(at))!;
    records.at(-1)!.push(quoted === undefined ? whole : quoted.replaceAll('""', '"'));
    at += whole.length;
    if (at >= text.length) return records;
    if (text[at] === ',') at += 1;
    else if (text.startsWith('\r\n', at)) {
      records.push([]);
      at += 2;
    } else throw new Error(`not RFC 4180 at ${at}: ${text.slice(at, at + 10)}`);
  }
}

const table: FigureTable = {
  columns: [{ label: 'frequency', unit: 'Hz', written: 'prefixed', digits: 3 }, { label: 'level', unit: 'dB', written: 'plain', digits: 1 }, { label: 'what it is', unit: '', written: 'plain', digits: 0 }],
  rows: [{ cells: [1262.3456789, -62.14, 'a tone, "pure"'] }, { cells: [20, null, 'nothing'] }, { cells: [1 / 3, -Infinity, ''] }],
};

describe('a table', () => {
  it('reads with prefixes, signs and units for people', () => {
    expect(tableText(table)).toEqual({ headings: ['frequency', 'level, dB', 'what it is'], rows: [['1.26 kHz', '−62.1', 'a tone, "pure"'], ['20.0 Hz', '', 'nothing'], ['333 mHz', 'none', '']], worded: [false, false, true] });
  });

  it('is comma-separated in base units for machines, one below the other', () => {
    const csv = figureCsv(figureOf([], { tables: [table, { columns: [table.columns[1]!], rows: [{ cells: [3] }] }] }));
    const [first, second] = csv.split('\r\n\r\n');
    expect(parseCsv(first!)).toEqual([['frequency, Hz', 'level, dB', 'what it is'], ['1262.345679', '-62.14', 'a tone, "pure"'], ['20', '', 'nothing'], ['0.3333333333', '', '']]);
    expect(second).toBe('"level, dB"\r\n3');
  });

  it('comes back from comma-separated text whatever is in it', () => {
    const field = fc.string({ unit: fc.constantFrom('a', ',', '"', '\r', '\n', ' ', 'µ', ';') });
    fc.assert(fc.property(fc.array(fc.array(field, { minLength: 2, maxLength: 4 }), { minLength: 1, maxLength: 5 }), (rows) => {
      expect(parseCsv(writeCsv(rows))).toEqual(rows);
    }), { seed: 20261126 });
  });
});

describe('a figure as data', () => {
  it('has tables and traces as plain numbers, gaps as null, and survives JSON', () => {
    const figure = figureOf([panelOf([traceOf('H2', Float64Array.of(0, 1), Float64Array.of(-60, NaN))], { marks: [{ x: 3, words: 'here' }] })], { tables: [table], remarks: ['so'] });
    const data = JSON.parse(JSON.stringify(figureData(figure))) as Record<string, unknown>;
    expect(data).toMatchObject({
      title: 'A figure', caption: 'It has one line.', remarks: ['so'],
      tables: [{ columns: [{ label: 'frequency', unit: 'Hz' }, {}, {}], rows: [[1262.3456789, -62.14, 'a tone, "pure"'], [20, null, 'nothing'], [1 / 3, null, '']] }],
      panels: [{ x: { label: 'input level', unit: 'dBu' }, traces: [{ id: 'H2', x: [0, 1], y: [-60, null] }], marks: [{ x: 3, words: 'here' }] }],
    });
  });
});
