import { planPath } from '../../dsp/path/index.ts';
import { readDay, readNumber, readWords } from './arguments.ts';
import type { Options } from './arguments.ts';
import { exitCodes, InputFailure } from './failure.ts';
import { figureWords, reportSections } from '../documents/report/sections.ts';
import type { SectionContent } from '../documents/report/sections.ts';
import { reportPage } from '../documents/report/page.ts';
import { reportContent } from './report-page.ts';
import { readSetting } from './subject.ts';
import { formatCsv, formatTable, print, printJson } from './table.ts';
import { writeAside } from './write-aside.ts';

export const reportHelp = `report    --setting FILE [--rate HZ] [--json|--csv] [--html FILE [--date 2026-11-26]]

What the bench computes of a setting at rest: every stage's readings and remarks, levels and headroom at each joint for 1 kHz at +4 dBu and the stage that runs out
first, noise of each stage and of the path, what the supply rails carry and what comes through them. A stage that oscillates gives exit code 1.
  --html FILE  all of it and more as one page for reading and printing: drawings, values, harmonics of the whole path at 200 Hz and +4 dBu, level match, notes, checksums
  --date DATE  put into that page; without it the same setting gives the same bytes on any day`;

const options = {
  setting: { type: 'string' },
  rate: { type: 'string' },
  json: { type: 'boolean' },
  csv: { type: 'boolean' },
  html: { type: 'string' },
  date: { type: 'string' },
} as const satisfies Options;

export async function report(args: readonly string[]): Promise<number> {
  const words = readWords('report', args, options);
  if (words.flag('json') && words.flag('csv')) throw new InputFailure('report: expected --json or --csv, got both');
  const setting = await readSetting(words.required('setting'));
  const rate = words.text('rate');
  const baseRateHz = rate === undefined ? setting.baseRateHz : readNumber('--rate', rate, 8000, 384_000);
  const plan = planPath(setting.path, baseRateHz, { grade: 'measuring', joints: setting.joints });
  const sections = reportSections.map((section) => ({ section, content: section.make({ setting, plan, baseRateHz }) }));
  if (words.flag('json')) {
    printJson({ title: setting.title, baseRateHz, oversamplingFactor: setting.path.oversamplingFactor, ...Object.fromEntries(sections.map(({ section: { id }, content: { json } }) => [id, json])) });
  } else if (words.flag('csv')) {
    print(formatCsv(['section', 'about', 'figure', 'value', 'unit'], sections.flatMap(({ section: { id }, content: { rows } }) =>
      rows.map(({ about, label, value, unit }) => [id, about, label, value === null || !Number.isFinite(value) ? '' : String(value), unit].map(plainCell)))));
  } else {
    print(`${setting.title}: ${baseRateHz} Hz × ${setting.path.oversamplingFactor}`);
    for (const { section: { title }, content } of sections) print(`\n${title}\n${inWords(content)}`);
  }
  const htmlPath = words.text('html');
  if (htmlPath !== undefined) await writeAside(htmlPath, reportPage(reportContent({ setting, plan, baseRateHz }, sections, readDay('--date', words.text('date')))));
  return sections.some(({ content: { failed } }) => failed) ? exitCodes.checkFailed : exitCodes.good;
}

/** Cells of our CSV hold no comma, quote or line break. */
function plainCell(text: string): string {
  return text.replaceAll(',', ';').replaceAll('"', '\'').replaceAll(/\s+/g, ' ');
}

/** A table for each thing that is spoken of, notes behind its figures, and the sentences. */
function inWords({ rows, words }: SectionContent): string {
  const parts: string[] = [];
  for (let at = 0; at < rows.length;) {
    const { about } = rows[at]!;
    let end = at;
    while (end < rows.length && rows[end]!.about === about) end += 1;
    const told = rows.slice(at, end);
    const [heading, ...lines] = formatTable([about, ''], told.map((row) => [`  ${row.label}`, figureWords(row)])).split('\n');
    parts.push(heading!, ...lines.map((line, k) => (told[k]!.note === undefined ? line : `${line}   ${told[k]!.note}`)));
    at = end;
  }
  return [...parts, ...words].join('\n');
}
