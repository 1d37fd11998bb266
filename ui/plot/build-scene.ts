/** A figure of a given size, with those kept over it, as plain shapes. */
import type { Figure, FigureAxis, FigurePanel } from '../../dsp/measure/figures/index.ts';
import { harshVerdict } from '../../dsp/measure/index.ts';
import { panelScene } from './panel-scene.ts';
import type { PanelPlan } from './panel-scene.ts';
import { isHarsh } from './pens.ts';
import type { LabelPlaces, Scene, SceneItem } from './scene.ts';
import { textWidthPx, wrapText } from './text-width.ts';
import { axisTicks } from './ticks.ts';
import type { AxisTicks } from './ticks.ts';

/** A figure laid aside, drawn thin behind the present one. */
export interface KeptFigure {
  readonly label: string;
  readonly figure: Figure;
}

export interface PlotOptions {
  readonly widthPx: number;
  /** Grows where the panels would be too low to read. */
  readonly heightPx: number;
  /** Size of all type on the plot. */
  readonly typePx?: number;
  readonly kept?: readonly KeptFigure[];
  /** Ids of traces that are not shown. */
  readonly hidden?: ReadonlySet<string>;
  /** Only the words of marks are placed: who asks for the scene draws the rest of them. */
  readonly bareMarks?: boolean;
  /** Of the drawing before, so that labels stay where they are. */
  readonly labelPlaces?: LabelPlaces;
}

const leastPanelPx = 72;
const edgePx = 6;
const noPlaces: LabelPlaces = new Map();

const sameAxis = (one: FigureAxis, other: FigureAxis): boolean => one.label === other.label && one.unit === other.unit && one.scale === other.scale && one.from === other.from && one.to === other.to;
const comparable = (one: FigureAxis | undefined, other: FigureAxis | undefined): boolean => one?.unit === other?.unit && one?.scale === other?.scale;

/** Whether anything is written under an axis besides its figures. */
const hasName = ({ label, unit, scale, written }: FigureAxis): boolean => label !== '' || (unit !== '' && !(scale === 'logarithmic' && written === 'prefixed'));

/** Whether a panel's places along x are whole numbers of nothing: orders, channels. */
function isCounted({ x: { unit, scale }, traces }: FigurePanel): boolean {
  return unit === '' && scale === 'linear' && traces.some(({ x }) => x.length > 0) && traces.every(({ x }) => Array.prototype.every.call(x, Number.isInteger));
}

/** The axis that also holds the ends of others. */
function widened(axis: FigureAxis, others: readonly (FigureAxis | undefined)[]): FigureAxis {
  if (axis.from > axis.to) return axis;
  const all = [axis, ...others.filter((other) => other !== undefined)];
  return { ...axis, from: Math.min(...all.map(({ from }) => from)), to: Math.max(...all.map(({ to }) => to)) };
}

interface Overlaid {
  readonly panel: FigurePanel;
  readonly kept: PanelPlan['kept'];
}

/** Each panel with what was kept of the same panel: the same place, the same units. */
function overlay(figure: Figure, kept: readonly KeptFigure[]): readonly Overlaid[] {
  return figure.panels.map((panel, index) => {
    const over = kept.flatMap(({ label, figure: { panels } }) => {
      const other = panels[index];
      return other && comparable(panel.x, other.x) && comparable(panel.left, other.left) && comparable(panel.right, other.right) ? [{ label, panel: other }] : [];
    });
    const others = over.map(({ panel: other }) => other);
    return {
      kept: over,
      panel: {
        ...panel, x: widened(panel.x, others.map(({ x }) => x)), left: widened(panel.left, others.map(({ left }) => left)),
        ...(panel.right ? { right: widened(panel.right, others.map(({ right }) => right)) } : {}),
      },
    };
  });
}

/** Words over a panel: its title where there are several, the names of the upright axes. */
interface Head {
  readonly title: string;
  readonly lines: readonly { readonly left: string; readonly right: string }[];
}

function headOf(panel: FigurePanel, several: boolean, ticks: { readonly left: AxisTicks; readonly right?: AxisTicks }, widthPx: number, typePx: number): Head {
  const title = several ? panel.title : '';
  const [left, right] = [ticks.left.title, ticks.right?.title ?? ''];
  const together = textWidthPx(left, typePx) + textWidthPx(right, typePx) + 2 * typePx <= widthPx;
  return { title, lines: together || right === '' ? [{ left, right }] : [{ left, right: '' }, { left: '', right }] };
}

export function buildScene(figure: Figure, options: PlotOptions): Scene {
  const { widthPx, typePx = 13, kept = [], hidden = new Set<string>(), labelPlaces = noPlaces, bareMarks = false } = options;
  const overlaid = overlay(figure, kept);
  const linePx = Math.round(1.4 * typePx);
  const several = overlaid.length > 1;
  const harsh = overlaid.some(({ panel }) => panel.traces.some((trace) => isHarsh(trace) && !hidden.has(trace.id)));
  const foot = harsh ? wrapText(`dashed: ${harshVerdict}`, typePx, widthPx) : [];
  const figuredBelow = overlaid.map(({ panel }, index) => !(overlaid[index + 1] && sameAxis(panel.x, overlaid[index + 1]!.panel.x)));

  // Heads and feet take what they need; the panels share the rest.
  const guess = { lengthPx: 120, across: false, typePx };
  const sides = overlaid.map(({ panel }) => ({ left: axisTicks(panel.left, guess), ...(panel.right ? { right: axisTicks(panel.right, guess) } : {}) }));
  const heads = overlaid.map(({ panel }, index) => headOf(panel, several, sides[index]!, widthPx, typePx));
  const headPx = heads.map(({ title, lines }) => (title === '' ? 0 : linePx + 2) + lines.length * linePx + Math.round(0.6 * typePx));
  const footPx = figuredBelow.map((below, index) => (!below ? 12 : hasName(overlaid[index]!.panel.x) ? 2 * linePx + 8 : linePx + 6));
  const fixedPx = [...headPx, ...footPx].reduce((sum, each) => sum + each, 0) + foot.length * linePx;
  const shares = overlaid.map(({ panel }) => panel.share ?? 1);
  const sharePx = (options.heightPx - fixedPx) / Math.max(1, shares.reduce((sum, share) => sum + share, 0));
  const panelPx = shares.map((share) => Math.max(leastPanelPx, Math.floor(share * sharePx)));

  const upright = overlaid.map(({ panel }, index) => {
    const along = { lengthPx: panelPx[index]!, across: false, typePx };
    return { left: axisTicks(panel.left, along), ...(panel.right ? { right: axisTicks(panel.right, along) } : {}) };
  });
  const widest = (all: readonly (AxisTicks | undefined)[]): number => Math.max(0, ...all.flatMap((each) => (each?.ticks ?? []).map(({ label }) => textWidthPx(label, typePx))));
  const leftPx = Math.ceil(widest(upright.map(({ left }) => left)) + edgePx + 6);
  const hasRight = overlaid.some(({ panel }) => panel.right !== undefined);
  // The last name of the x axis stands half beyond its end.
  const rightPx = Math.ceil(Math.max(hasRight ? widest(upright.map(({ right }) => right)) + edgePx + 6 : 0, 1.7 * typePx));

  const items: SceneItem[] = [];
  const panels: Scene['panels'][number][] = [];
  const places = new Map<string, string>();
  let y = 0;
  overlaid.forEach(({ panel, kept: over }, index) => {
    const top = y + headPx[index]!;
    const box = { left: leftPx, right: widthPx - rightPx, top, bottom: top + panelPx[index]! };
    const ticks = { x: axisTicks(panel.x, { lengthPx: box.right - box.left, across: true, typePx, whole: isCounted(panel) }), ...upright[index]! };
    const drawn = panelScene({ index, panel, kept: over, ticks, box, figuredBelow: figuredBelow[index]!, bareMarks }, typePx, hidden, labelPlaces);
    items.push(...headItems(heads[index]!, y, widthPx, typePx, linePx), ...drawn.items);
    if (figuredBelow[index] && ticks.x.title !== '') items.push(words(ticks.x.title, box.right, box.bottom + 2 * linePx, 'end', typePx, 'x title'));
    panels.push(drawn.panel);
    for (const { id, placeName } of drawn.labels) places.set(id, placeName);
    y = box.bottom + footPx[index]!;
  });
  foot.forEach((line, index) => items.push({ kind: 'words', text: line, x: 0, y: y + (index + 0.8) * linePx, anchor: 'start', face: 'words', sizePx: typePx, colour: 'pencil', clear: false, of: 'foot' }));
  return { widthPx, heightPx: y + foot.length * linePx, items, panels, labelPlaces: places };
}

function words(text: string, x: number, y: number, anchor: 'start' | 'end', sizePx: number, of: string): SceneItem {
  return { kind: 'words', text, x, y, anchor, face: 'figures', sizePx, colour: 'pencil', clear: false, of };
}

function headItems({ title, lines }: Head, top: number, widthPx: number, typePx: number, linePx: number): readonly SceneItem[] {
  const items: SceneItem[] = [];
  let y = top + linePx - 4;
  if (title !== '') {
    items.push({ kind: 'words', text: title, x: 0, y, anchor: 'start', face: 'heading', sizePx: typePx + 1, colour: 'ink', clear: false, of: 'panel title' });
    y += linePx + 2;
  }
  for (const { left, right } of lines) {
    if (left !== '') items.push(words(left, 0, y, 'start', typePx, 'left title'));
    if (right !== '') items.push(words(right, widthPx, y, 'end', typePx, 'right title'));
    y += linePx;
  }
  return items;
}
