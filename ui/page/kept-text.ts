/** Kept figures ↔ the text that is stored of them: their curves to seven digits, without tables. What is read back is checked like a file from a stranger. */
import { figureViewById } from '../../dsp/measure/figures/index.ts';
import type { Figure, FigureAxis, FigurePanel, FigureTrace } from '../../dsp/measure/figures/index.ts';
import { parseSetting, writeSetting } from '../../dsp/setting/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { mostKept } from './kept-figures.ts';
import type { KeptFigure } from './state.ts';

const version = 1;
const storedDigits = 7;

export function writeKept(kept: readonly KeptFigure[]): string {
  return JSON.stringify({ version, kept: kept.map(({ setting, figure, ...rest }) => ({ ...rest, setting: writeSetting(setting), figure: writeFigure(figure) })) });
}

function writeFigure({ title, caption, panels }: Figure): object {
  return { title, caption, panels: panels.map((panel) => ({ ...panel, traces: panel.traces.map((trace) => ({ ...trace, x: written(trace.x), y: written(trace.y) })) })) };
}

/** A gap (NaN) is null. */
function written(values: ArrayLike<number>): (number | null)[] {
  return Array.from(values, (value) => (Number.isNaN(value) ? null : Number(value.toPrecision(storedDigits))));
}

type Fields = Record<string, unknown>;

class Unreadable extends Error {}

/** Those that can be read; of views that there are, no more of each than may be kept. */
export function readKept(text: string | null): readonly KeptFigure[] {
  if (text === null) return [];
  let stored: unknown;
  try {
    stored = JSON.parse(text);
  } catch (error) {
    console.warn('kept figures:', error);
    return [];
  }
  if (!isObject(stored) || stored['version'] !== version || !Array.isArray(stored['kept'])) return [];
  const read = stored['kept'].flatMap((each: unknown) => {
    try {
      return [readOne(each)];
    } catch (error) {
      console.warn('a kept figure:', error);
      return [];
    }
  });
  return read.filter(({ id, view }, index) => read.findIndex((other) => other.id === id) === index && read.slice(0, index).filter((other) => other.view === view).length < mostKept);
}

function readOne(stored: unknown): KeptFigure {
  const fields = object(stored, 'kept');
  const view = words(fields['view'], 'view');
  const parameters = figureViewById(view)?.parameters;
  const id = words(fields['id'], 'id');
  if (!parameters || !/^\d{1,9}$/.test(id)) throw new Unreadable(`view or id: expected ones of this bench, got "${view}", "${id}"`);
  return {
    id, view, name: fields['name'] === null ? null : words(fields['name'], 'name').slice(0, 60),
    setting: parseSetting(words(fields['setting'], 'setting')),
    values: readValues(fields['values']),
    scope: words(fields['scope'], 'scope').slice(0, 100), keptAt: words(fields['keptAt'], 'keptAt').slice(0, 30),
    figure: readFigure(object(fields['figure'], 'figure')),
  };
}

function readValues(stored: unknown): StageValues {
  return Object.fromEntries(Object.entries(object(stored, 'values')).filter((entry): entry is [string, number | string] => typeof entry[1] === 'string' || Number.isFinite(entry[1])));
}

function readFigure(fields: Fields): Figure {
  return { title: words(fields['title'], 'title'), caption: words(fields['caption'], 'caption'), panels: list(fields['panels'], 'panels').map((panel) => readPanel(object(panel, 'panel'))), tables: [], remarks: [] };
}

function readPanel(fields: Fields): FigurePanel {
  return {
    title: words(fields['title'], 'panel'), x: readAxis(fields['x']), left: readAxis(fields['left']), ...(fields['right'] === undefined ? {} : { right: readAxis(fields['right']) }),
    traces: list(fields['traces'], 'traces').map((trace) => readTrace(object(trace, 'trace'))), marks: [],
  };
}

function readAxis(stored: unknown): FigureAxis {
  const { label, unit, scale, written: way, from, to } = object(stored, 'axis');
  if (!Number.isFinite(from) || !Number.isFinite(to)) throw new Unreadable(`axis: expected two ends, got ${String(from)} and ${String(to)}`);
  return { label: words(label, 'label'), unit: words(unit, 'unit'), scale: oneOf(scale, ['linear', 'logarithmic']), written: oneOf(way, ['prefixed', 'plain']), from: from as number, to: to as number };
}

function readTrace(fields: Fields): FigureTrace {
  const x = numbers(fields['x'], 'x');
  const y = numbers(fields['y'], 'y');
  if (x.length !== y.length) throw new Unreadable(`trace: expected as many y as x, got ${y.length} and ${x.length}`);
  const { order } = fields;
  return {
    id: words(fields['id'], 'id'), label: words(fields['label'], 'label'), axis: oneOf(fields['axis'], ['left', 'right']),
    role: oneOf(fields['role'], ['main', 'second', 'third', 'ideal', 'difference', 'noise']), drawn: oneOf(fields['drawn'], ['line', 'stair', 'points', 'uprights']),
    ...(typeof order === 'number' && Number.isInteger(order) ? { order } : {}), x, y,
  };
}

function numbers(stored: unknown, what: string): Float64Array {
  return Float64Array.from(list(stored, what), (value) => {
    if (value === null) return NaN;
    if (typeof value !== 'number') throw new Unreadable(`${what}: expected numbers, got ${typeof value}`);
    return value;
  });
}

function isObject(value: unknown): value is Fields {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function object(value: unknown, what: string): Fields {
  if (!isObject(value)) throw new Unreadable(`${what}: expected an object, got ${value === null ? 'null' : typeof value}`);
  return value;
}

function list(value: unknown, what: string): readonly unknown[] {
  if (!Array.isArray(value)) throw new Unreadable(`${what}: expected a list, got ${typeof value}`);
  return value;
}

function words(value: unknown, what: string): string {
  if (typeof value !== 'string') throw new Unreadable(`${what}: expected text, got ${typeof value}`);
  return value;
}

function oneOf<const T extends string>(value: unknown, options: readonly T[]): T {
  const found = options.find((option) => option === value);
  if (found === undefined) throw new Unreadable(`expected one of ${options.join(', ')}, got ${String(value)}`);
  return found;
}
