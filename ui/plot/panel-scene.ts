/** One panel of a figure: grid, spans, kept and present traces, marks, names. */
import type { FigureMark, FigurePanel, FigureTrace } from '../../dsp/measure/figures/index.ts';
import { TraceReach, traceLabelPlaces, levelPlaces, pointPlaces, spanPlaces, uprightPlaces } from './label-wishes.ts';
import { InkGrid, labelBox, placeLabels } from './labels.ts';
import type { LabelWish, PlacedLabel } from './labels.ts';
import { keptPen, pensOf } from './pens.ts';
import { isDecibel } from './numbers.ts';
import { axisScale } from './scales.ts';
import type { AxisScale } from './scales.ts';
import type { DrawnTrace, LabelPlaces, Pen, SceneItem, ScenePanel } from './scene.ts';
import type { AxisTicks } from './ticks.ts';
import { tracePoints, traceRuns, traceUprights } from './trace-runs.ts';
import type { PanelBox } from './trace-runs.ts';

/** A panel with those kept that belong over it, and the axes that hold all of them. */
export interface PanelPlan {
  readonly index: number;
  readonly panel: FigurePanel;
  readonly kept: readonly { readonly label: string; readonly panel: FigurePanel }[];
  readonly ticks: { readonly x: AxisTicks; readonly left: AxisTicks; readonly right?: AxisTicks };
  readonly box: PanelBox;
  /** Whether the figures of the x axis stand under this panel (else under one below with the same axis). */
  readonly figuredBelow: boolean;
  /** Marks are their words alone. */
  readonly bareMarks: boolean;
}

const gridPen: Pen = { colour: 'grid', widthPx: 1, dash: [] };
const minorPen: Pen = { colour: 'grid', widthPx: 0.5, dash: [] };
const axisPen: Pen = { colour: 'edge', widthPx: 1, dash: [] };
const zeroPen: Pen = { colour: 'edge', widthPx: 0.75, dash: [] };
const markPen: Pen = { colour: 'pencil', widthPx: 1.5, dash: [] };
const markLinePen: Pen = { colour: 'pencil', widthPx: 1, dash: [1, 2] };
const leaderPen: Pen = { colour: 'pencil', widthPx: 0.75, dash: [] };
const tickPx = 4;
/** Lines of a kept figure that are all named. */
const mostNamedKept = 2;

interface DrawnRuns {
  readonly drawn: DrawnTrace;
  readonly runs: readonly (readonly number[])[];
}

export interface PanelScene {
  readonly items: readonly SceneItem[];
  readonly panel: ScenePanel;
  readonly labels: readonly PlacedLabel[];
}

export function panelScene(plan: PanelPlan, typePx: number, hidden: ReadonlySet<string>, before: LabelPlaces): PanelScene {
  const { box, panel } = plan;
  const x = axisScale(panel.x, box.left, box.right);
  const left = axisScale(panel.left, box.bottom, box.top);
  const right = panel.right && axisScale(panel.right, box.bottom, box.top);
  const scaleOf = (axis: 'left' | 'right' | undefined): AxisScale => (axis === 'right' ? right ?? left : left);
  const pens = pensOf(panel.traces);
  const penOf = new Map(panel.traces.map(({ id }, index) => [id, pens[index]!]));
  const shown = (id: string): boolean => !hidden.has(id);
  const traces: DrawnTrace[] = panel.traces.flatMap((trace, index) => (shown(trace.id) ? [{ trace, pen: pens[index]!, scale: scaleOf(trace.axis), kept: null }] : []));
  plan.kept.forEach((kept, index) => {
    const own = pensOf(kept.panel.traces);
    kept.panel.traces.forEach((trace, k) => {
      if (shown(trace.id)) traces.push({ trace, pen: keptPen(penOf.get(trace.id) ?? own[k]!, index), scale: scaleOf(trace.axis), kept: kept.label });
    });
  });
  const drawn = traces.map((each): DrawnRuns => ({ drawn: each, runs: runsOf(each, x, box) }));
  const labels = placeAll(plan, drawn, x, scaleOf, typePx, before);
  return {
    panel: { ...box, x, leftScale: left, rightScale: right ?? null, traces, selects: panel.selects !== undefined },
    labels,
    items: [
      ...(plan.bareMarks ? [] : spans(panel.marks, x, box)), ...grid(plan, x, left, box),
      // What matters most is drawn last.
      ...drawn.toReversed().flatMap(traceItems), ...(plan.bareMarks ? [] : markItems(panel.marks, x, scaleOf, box)),
      ...axes(plan, x, left, right, box, typePx), ...labels.flatMap((label) => labelItems(label, typePx)),
    ],
  };
}

function runsOf({ trace, scale }: DrawnTrace, x: AxisScale, box: PanelBox): DrawnRuns['runs'] {
  switch (trace.drawn) {
    case 'line': case 'stair': return traceRuns(trace, x, scale, box);
    case 'uprights': return traceUprights(trace, x, scale, box);
    case 'points': return [tracePoints(trace, x, scale, box)];
  }
}

const itemName = ({ trace, kept }: DrawnTrace): string => (kept === null ? trace.id : `${trace.id}, ${kept}`);

function traceItems({ drawn, runs }: DrawnRuns): readonly SceneItem[] {
  const { trace, pen, kept } = drawn;
  const of = itemName(drawn);
  if (trace.drawn === 'points') {
    return [{ kind: 'dots', points: runs[0]!, radiusPx: kept === null ? 3 : 2, filled: pen.dash.length === 0 && pen.corePx === undefined, pen: { ...pen, widthPx: 1.25, dash: [] }, of }];
  }
  if (trace.drawn === 'uprights') return uprightItems(trace, runs, pen, of);
  const line: SceneItem = { kind: 'runs', runs, pen, of };
  if (pen.corePx === undefined) return [line];
  return [line, { kind: 'runs', runs, pen: { colour: 'sheet', widthPx: pen.corePx, dash: [] } }];
}

/** Uprights stand too close for dashes: what would be a broken line has a head instead, a ring for long dashes, a dot for short ones. Harmonics keep the dash of their order. */
function uprightItems({ order }: FigureTrace, runs: DrawnRuns['runs'], pen: Pen, of: string): readonly SceneItem[] {
  if (pen.dash.length === 0 || order !== undefined) return [{ kind: 'runs', runs, pen, of }];
  const plain: Pen = { ...pen, widthPx: 0.75 * pen.widthPx, dash: [] };
  return [{ kind: 'runs', runs, pen: plain, of }, { kind: 'dots', points: runs.flatMap((run) => run.slice(2)), radiusPx: 2.5, filled: pen.dash.length > 2 || pen.dash[0]! <= 4, pen: plain, of }];
}

function grid({ ticks, panel }: PanelPlan, x: AxisScale, left: AxisScale, box: PanelBox): readonly SceneItem[] {
  const up = (value: number): number[] => [x.place(value), box.top, x.place(value), box.bottom];
  const across = (value: number): number[] => [box.left, left.place(value), box.right, left.place(value)];
  const minor = [...ticks.x.ticks.filter((tick) => tick.minor).map(({ value }) => up(value)), ...ticks.left.ticks.filter((tick) => tick.minor).map(({ value }) => across(value))];
  const major = [...ticks.x.ticks.filter((tick) => !tick.minor).map(({ value }) => up(value)), ...ticks.left.ticks.filter((tick) => !tick.minor).map(({ value }) => across(value))];
  const zeros = [
    ...(panel.left.scale === 'linear' && panel.left.from * panel.left.to < 0 ? [across(0)] : []),
    // Nothing begins or turns at 0 dBu.
    ...(panel.x.scale === 'linear' && panel.x.from * panel.x.to < 0 && !isDecibel(panel.x.unit) ? [up(0)] : []),
  ];
  return [{ kind: 'runs', runs: minor, pen: minorPen, of: 'grid' }, { kind: 'runs', runs: major, pen: gridPen, of: 'grid' }, { kind: 'runs', runs: zeros, pen: zeroPen, of: 'zero' }];
}

/** Lines of the axes, their ticks, the figures beside them. */
function axes({ ticks, figuredBelow }: PanelPlan, x: AxisScale, left: AxisScale, right: AxisScale | undefined, box: PanelBox, typePx: number): readonly SceneItem[] {
  const figure = (text: string, at: readonly [number, number], anchor: 'start' | 'middle' | 'end', of: string): SceneItem => (
    { kind: 'words', text, x: at[0], y: at[1], anchor, face: 'figures', sizePx: typePx, colour: 'pencil', clear: false, of });
  const named = (all: AxisTicks): AxisTicks['ticks'] => all.ticks.filter(({ label }) => label !== '');
  const lines: number[][] = [
    [box.left, box.top, box.left, box.bottom, box.right, box.bottom, ...(right ? [box.right, box.top] : [])],
    ...ticks.x.ticks.filter(({ minor }) => !minor).map(({ value }) => [x.place(value), box.bottom, x.place(value), box.bottom + tickPx]),
    ...named(ticks.left).map(({ value }) => [box.left - tickPx, left.place(value), box.left, left.place(value)]),
    ...(right && ticks.right ? named(ticks.right).map(({ value }) => [box.right, right.place(value), box.right + tickPx, right.place(value)]) : []),
  ];
  const middle = 0.33 * typePx;
  return [
    { kind: 'runs', runs: lines, pen: axisPen, of: 'axes' },
    ...(figuredBelow ? named(ticks.x).map(({ label, value }) => figure(label, [x.place(value), box.bottom + tickPx + typePx], 'middle', 'x figures')) : []),
    ...named(ticks.left).map(({ label, value }) => figure(label, [box.left - tickPx - 3, left.place(value) + middle], 'end', 'left figures')),
    ...(right && ticks.right ? named(ticks.right).map(({ label, value }) => figure(label, [box.right + tickPx + 3, right.place(value) + middle], 'start', 'right figures')) : []),
  ];
}

const within = (value: number, from: number, to: number): number => Math.min(Math.max(from, to), Math.max(Math.min(from, to), value));
const inside = (px: number, from: number, to: number): boolean => px >= Math.min(from, to) - 0.5 && px <= Math.max(from, to) + 0.5;

/** Ends of a span on the panel; null: it is none, or beyond the ends. */
function spanOf({ x: from, toX }: FigureMark, x: AxisScale, box: PanelBox): readonly [number, number] | null {
  if (from === undefined || toX === undefined) return null;
  const [a, b] = [x.place(from), x.place(toX)];
  if (!(Math.max(a, b) >= box.left && Math.min(a, b) <= box.right)) return null;
  return [within(Math.min(a, b), box.left, box.right), within(Math.max(a, b), box.left, box.right)];
}

function spans(marks: readonly FigureMark[], x: AxisScale, box: PanelBox): readonly SceneItem[] {
  return marks.flatMap((mark): SceneItem[] => {
    const span = spanOf(mark, x, box);
    if (span === null || mark.y !== undefined) return [];
    return [{ kind: 'area', points: [span[0], box.top, span[1], box.top, span[1], box.bottom, span[0], box.bottom], fill: 'wash', of: 'mark' }];
  });
}

function markItems(marks: readonly FigureMark[], x: AxisScale, scaleOf: (axis?: 'left' | 'right') => AxisScale, box: PanelBox): readonly SceneItem[] {
  return marks.flatMap((mark): SceneItem[] => {
    const across = mark.x === undefined ? null : x.place(mark.x);
    const up = mark.y === undefined ? null : scaleOf(mark.axis).place(mark.y);
    const span = spanOf(mark, x, box);
    if (mark.toX !== undefined) {
      if (span === null || (up !== null && !inside(up, box.top, box.bottom))) return [];
      // At a height, a bracket there.
      if (up !== null) return [{ kind: 'runs', runs: [[span[0], up - 5, span[0], up + 5], [span[0], up, span[1], up], [span[1], up - 5, span[1], up + 5]], pen: markPen, of: 'mark' }];
      // Edges of a span, so that it shows where grounds are not drawn.
      return [{ kind: 'runs', runs: [[span[0], box.bottom, span[0], box.bottom - 8], [span[0], box.bottom, span[1], box.bottom], [span[1], box.bottom, span[1], box.bottom - 8]], pen: markPen, of: 'mark' }];
    }
    if (across !== null && !inside(across, box.left, box.right)) return [];
    if (up !== null && !inside(up, box.top, box.bottom)) return [];
    if (across !== null && up !== null) return [{ kind: 'dots', points: [across, up], radiusPx: 4, filled: false, pen: markPen, of: 'mark' }];
    if (across !== null) return [{ kind: 'runs', runs: [[across, box.top, across, box.bottom]], pen: markLinePen, of: 'mark' }];
    return up === null ? [] : [{ kind: 'runs', runs: [[box.left, up, box.right, up]], pen: markLinePen, of: 'mark' }];
  });
}

/** Words of the marks, then names of the traces, then of those kept. */
function placeAll(
  { index, panel, kept, box }: PanelPlan, drawn: readonly DrawnRuns[], x: AxisScale, scaleOf: (axis?: 'left' | 'right') => AxisScale, typePx: number, before: LabelPlaces,
): readonly PlacedLabel[] {
  const ink = new InkGrid(box);
  for (const { runs, drawn: { trace } } of drawn) {
    if (trace.drawn === 'points') for (let k = 0; k < runs[0]!.length; k += 2) ink.draw([runs[0]![k]! - 3, runs[0]![k + 1]!, runs[0]![k]! + 3, runs[0]![k + 1]!]);
    else for (const run of runs) ink.draw(run);
  }
  for (const item of markItems(panel.marks, x, scaleOf, box)) {
    if (item.kind === 'runs') for (const run of item.runs) ink.draw(run);
    if (item.kind === 'dots') for (const off of [-6, -3, 0, 3, 6]) ink.draw([item.points[0]! - 7, item.points[1]! + off, item.points[0]! + 7, item.points[1]! + off]);
  }
  const marks = panel.marks.flatMap((mark, k): LabelWish[] => {
    const places = markPlaces(mark, x, scaleOf, box, typePx);
    return places === null || mark.words === '' ? [] : [{ id: `${index} mark ${k}`, text: mark.words, places }];
  });
  // A panel with one line, and nothing kept over it, is named by its title and axis.
  const alone = panel.traces.length === 1 && kept.length === 0 && panel.traces[0]!.order === undefined;
  const many = new Set(kept.filter(({ panel: { traces } }) => traces.length > mostNamedKept).map(({ label }) => label));
  const named = new Set<string>();
  const reaches = drawn.map(({ drawn: { trace }, runs }) => new TraceReach(trace.drawn === 'uprights' ? runs.map((run) => run.slice(2)) : trace.drawn === 'points' ? pairs(runs[0]!) : runs, box));
  const names = alone ? [] : drawn.flatMap(({ drawn: each, runs }, own): LabelWish[] => {
    const { trace, kept: label } = each;
    // Of many kept lines one carries the name: their dashes are those of the present ones.
    const once = label !== null && many.has(label);
    if (once && named.has(label)) return [];
    if (once && runs.length > 0) named.add(label);
    const text = label === null ? trace.label : once ? `thin: ${label}` : `${trace.label}, ${label}`;
    return [{ id: `${index} ${itemName(each)}`, text, places: traceLabelPlaces(reaches[own]!, reaches.filter((_, k) => k !== own), box, text, typePx) }];
  });
  return placeLabels([...marks, ...names], box, ink, typePx, before);
}

const pairs = (points: readonly number[]): readonly (readonly number[])[] => Array.from({ length: points.length / 2 }, (_, k) => points.slice(2 * k, 2 * k + 2));

function markPlaces(mark: FigureMark, x: AxisScale, scaleOf: (axis?: 'left' | 'right') => AxisScale, box: PanelBox, typePx: number): LabelWish['places'] | null {
  const across = mark.x === undefined ? null : x.place(mark.x);
  const up = mark.y === undefined ? null : scaleOf(mark.axis).place(mark.y);
  if (mark.toX !== undefined) {
    const span = spanOf(mark, x, box);
    if (span === null || (up !== null && !inside(up, box.top, box.bottom))) return null;
    return up === null ? spanPlaces(span[0], span[1], box, typePx) : pointPlaces((span[0] + span[1]) / 2, up, typePx, (span[1] - span[0]) / 2);
  }
  if (across !== null && !inside(across, box.left, box.right)) return null;
  if (up !== null && !inside(up, box.top, box.bottom)) return null;
  if (across !== null && up !== null) return pointPlaces(across, up, typePx);
  if (across !== null) return uprightPlaces(across, box, typePx);
  return up === null ? null : levelPlaces(up, box, typePx);
}

function labelItems({ id, text, place }: PlacedLabel, typePx: number): readonly SceneItem[] {
  const words: SceneItem = { kind: 'words', text, x: place.x, y: place.y, anchor: place.anchor, face: 'words', sizePx: typePx, colour: 'ink', clear: true, of: `label ${id}` };
  if (!place.leader) return [words];
  const { left, right, top, bottom } = labelBox(place, text, typePx);
  const [fromX, fromY] = place.leader;
  const nearest = [within(fromX, left, right), within(fromY, top, bottom)];
  return [{ kind: 'runs', runs: [[fromX, fromY, nearest[0]!, nearest[1]!]], pen: leaderPen, of: 'leader' }, words];
}
