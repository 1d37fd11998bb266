/** Where a curve's lines, marks and words stand on its plot, px. Pure. */
import type { CurveMark, CurveTrace, StageCurve } from '../../../dsp/stages/contract.ts';

export const lowestHz = 20;
export const highestHz = 20_000;
const [leftPx, rightPx, topPx, bottomPx] = [40, 12, 12, 24];
/** Room for the spectrum's own axis. */
const spectrumAxisPx = 36;

export interface Plot {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
  /** Of the dB axis. */
  readonly lowestDb: number;
  readonly highestDb: number;
}

const finite = (values: readonly number[]): readonly number[] => values.filter(Number.isFinite);

/** An axis of whole sixes round all traces, at least ±6 dB, at most ±48. */
export function plotOf(curve: StageCurve, widthPx: number, heightPx: number, withSpectrum: boolean): Plot {
  const all = curve.traces.flatMap(({ db }) => finite(db));
  const reach = (db: number): number => Math.min(48, Math.max(6, 6 * Math.ceil((db + 1) / 6)));
  const highestDb = reach(all.reduce((most, db) => Math.max(most, db), 0));
  const lowestDb = -reach(-all.reduce((least, db) => Math.min(least, db), 0));
  return { widthPx, heightPx, left: leftPx, right: widthPx - rightPx - (withSpectrum ? spectrumAxisPx : 0), top: topPx, bottom: heightPx - bottomPx, lowestDb, highestDb };
}

export const xOf = ({ left, right }: Plot, hz: number): number => left + ((right - left) * Math.log(hz / lowestHz)) / Math.log(highestHz / lowestHz);
export const hzAt = ({ left, right }: Plot, x: number): number => lowestHz * (highestHz / lowestHz) ** Math.min(1, Math.max(0, (x - left) / (right - left)));
export const yOf = ({ top, bottom, lowestDb, highestDb }: Plot, db: number): number => bottom - ((bottom - top) * (db - lowestDb)) / (highestDb - lowestDb);

export const decadeLines = [20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000];
/** Those with a figure; on a narrow plot fewer, so that none touch. */
export const figuredLines = ({ left, right }: Plot): readonly number[] => (right - left < 480 ? [20, 100, 500, 2000, 20_000] : decadeLines.filter((hz) => right - left > 560 || hz !== 10_000));
export const writeAxisHz = (hz: number): string => (hz >= 1000 ? `${hz / 1000}k` : String(hz));

/** Lines of the dB axis: every 3, 6 or 12. */
export function levelLines({ lowestDb, highestDb }: Plot): number[] {
  const span = highestDb - lowestDb;
  const step = span <= 18 ? 3 : span <= 48 ? 6 : 12;
  return Array.from({ length: Math.floor(highestDb / step) - Math.ceil(lowestDb / step) + 1 }, (_, k) => step * (Math.ceil(lowestDb / step) + k));
}

/** Points of a trace, as SVG takes them; what is not finite is left out, what is off the axis lies on its edge. */
export function tracePoints(plot: Plot, hertz: readonly number[], db: readonly number[]): string {
  return hertz.flatMap((hz, k) => {
    const value = db[k]!;
    if (!Number.isFinite(value) || hz < lowestHz || hz > highestHz * (1 + 1e-9)) return [];
    return [`${xOf(plot, hz).toFixed(1)},${yOf(plot, Math.min(plot.highestDb, Math.max(plot.lowestDb, value))).toFixed(1)}`];
  }).join(' ');
}

/** A trace's value between its points, linear in the logarithm of frequency. */
export function valueAt(hertz: readonly number[], db: readonly number[], hz: number): number {
  let above = hertz.findIndex((each) => each >= hz);
  if (above < 0) above = hertz.length - 1;
  if (above === 0) return db[0]!;
  const [low, high] = [hertz[above - 1]!, hertz[above]!];
  if (high === low) return db[above]!;
  return db[above - 1]! + ((db[above]! - db[above - 1]!) * Math.log(hz / low)) / Math.log(high / low);
}

/** A word on the plot. */
export interface PlacedWords {
  readonly text: string;
  readonly x: number;
  readonly y: number;
  readonly anchor: 'start' | 'middle' | 'end';
}

interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** Mean width of a character of the 13 px face, generously. */
const characterPx = 6.6;
const clearancePx = 4;
const ascentPx = 11;
const descentPx = 4;

function boxOf({ text, x, y, anchor }: PlacedWords): Box {
  const width = characterPx * text.length;
  const left = anchor === 'start' ? x : anchor === 'end' ? x - width : x - width / 2;
  return { left, right: left + width, top: y - ascentPx, bottom: y + descentPx };
}

const overlap = (a: Box, b: Box): boolean => a.left < b.right + clearancePx && b.left < a.right + clearancePx && a.top < b.bottom + clearancePx && b.top < a.bottom + clearancePx;

/** Places words one after another, each at the first of its wished places that is on the plot and clear of those before; words without such a place are left to the table. */
export function placeWords(plot: Plot, wishes: readonly (readonly PlacedWords[])[]): readonly PlacedWords[] {
  const placed: PlacedWords[] = [];
  const boxes: Box[] = [];
  for (const places of wishes) {
    const found = places.find((place) => {
      const box = boxOf(place);
      return box.left >= plot.left && box.right <= plot.right && box.top >= plot.top - 2 && box.bottom <= plot.bottom && !boxes.some((other) => overlap(box, other));
    });
    if (!found) continue;
    placed.push(found);
    boxes.push(boxOf(found));
  }
  return placed;
}

/** Round a point: above and below, to either side, then further off. */
function around(text: string, x: number, y: number): readonly PlacedWords[] {
  return [10, 26, 42, 60].flatMap((off): PlacedWords[] => [
    { text, x: x + 8, y: y - off, anchor: 'start' }, { text, x: x - 8, y: y - off, anchor: 'end' }, { text, x: x + 8, y: y + off + 8, anchor: 'start' }, { text, x: x - 8, y: y + off + 8, anchor: 'end' },
  ]);
}

/** Words for a trace, where it is furthest from 0 dB. */
function traceWishes(plot: Plot, hertz: readonly number[], { label, db }: CurveTrace): readonly PlacedWords[] {
  let most = 0;
  db.forEach((value, k) => { if (Math.abs(value) > Math.abs(db[most]!) + 1e-6) most = k; });
  return around(label, xOf(plot, hertz[most]!), yOf(plot, Math.min(plot.highestDb, Math.max(plot.lowestDb, db[most]!))));
}

const markWishes = (plot: Plot, { words, fromHz, toHz, db }: CurveMark): readonly PlacedWords[] => around(words, xOf(plot, Math.sqrt(fromHz * toHz)), yOf(plot, db));

/** Labels of the traces first, then what the marks say. */
export function wordsOf(plot: Plot, curve: StageCurve, marks: readonly CurveMark[]): readonly PlacedWords[] {
  const labelled = curve.traces.length > 1 ? curve.traces : [];
  return placeWords(plot, [...labelled.map((trace) => traceWishes(plot, curve.hertz, trace)), ...marks.filter(({ kind }) => kind !== 'turnover').map((mark) => markWishes(plot, mark))]);
}

/** Marks that lie on the axis. */
export const marksInSight = (marks: readonly CurveMark[]): readonly CurveMark[] => marks.filter(({ fromHz, toHz }) => toHz >= lowestHz && fromHz <= highestHz);
