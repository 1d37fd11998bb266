/** A figure on a sheet of its own, to be taken away: its title above, the drawing, the sentence and remarks beneath. */
import type { Figure } from '../../dsp/measure/figures/index.ts';
import { buildScene } from './build-scene.ts';
import type { PlotOptions } from './build-scene.ts';
import { hexOf } from './colour.ts';
import { palette } from './palette.ts';
import type { ColourName } from './palette.ts';
import type { Face, SceneItem } from './scene.ts';
import { wrapText } from './text-width.ts';

export interface SheetOptions extends Partial<PlotOptions> {
  readonly look?: 'light' | 'dark';
  /** Before the names by which title and description are found, where several pictures stand in one document. */
  readonly idPrefix?: string;
  /** Room round the whole. */
  readonly marginPx?: number;
}

export interface FigureSheet {
  readonly widthPx: number;
  readonly heightPx: number;
  /** sRGB, as "#fcfdf9". */
  readonly ground: string;
  colourOf(name: ColourName): string;
  /** Shapes, each lot from a corner of its own. */
  readonly parts: readonly { readonly x: number; readonly y: number; readonly items: readonly SceneItem[] }[];
}

const defaults = { widthPx: 960, panelPx: 420, furtherPanelPx: 240, marginPx: 24, typePx: 14 } as const;
const lineHeight = 1.4;

export function figureSheet(figure: Figure, options: SheetOptions = {}): FigureSheet {
  const { look = 'light', marginPx = defaults.marginPx, typePx = defaults.typePx, widthPx = defaults.widthPx, kept = [] } = options;
  const colourOf = (name: ColourName): string => hexOf(palette[name][look]);
  const plotPx = widthPx - 2 * marginPx;
  const linePx = Math.round(lineHeight * typePx);
  const headingPx = typePx + 6;
  const headingLinePx = Math.round(lineHeight * headingPx);
  const heading = wrapText(figure.title, headingPx, plotPx);
  const keptWords = kept.map(({ label, figure: { title } }) => `${label}: ${title}`).join('; ');
  const sentences = [figure.caption, ...(keptWords === '' ? [] : [`Thin: ${keptWords}.`]), ...figure.remarks].filter((sentence) => sentence !== '');
  const below = sentences.flatMap((sentence) => wrapText(sentence, typePx, plotPx));
  const top = marginPx + heading.length * headingLinePx + 6;
  const ownPx = defaults.panelPx + defaults.furtherPanelPx * Math.max(0, figure.panels.length - 1);
  const roomPx = options.heightPx === undefined ? ownPx : options.heightPx - marginPx - top - below.length * linePx - 8;
  const scene = figure.panels.length === 0 ? null : buildScene(figure, { ...options, widthPx: plotPx, heightPx: roomPx, typePx });
  const bottom = top + (scene?.heightPx ?? 0) + 8;
  const words = (text: string, y: number, face: Face, sizePx: number): SceneItem => ({ kind: 'words', text, x: 0, y, anchor: 'start', face, sizePx, colour: 'ink', clear: false });
  return {
    widthPx, heightPx: Math.ceil(bottom + below.length * linePx + marginPx), ground: colourOf('sheet'), colourOf,
    parts: [
      { x: marginPx, y: marginPx, items: heading.map((text, index) => words(text, (index + 0.75) * headingLinePx, 'heading', headingPx)) },
      { x: marginPx, y: top, items: scene?.items ?? [] },
      { x: marginPx, y: bottom, items: below.map((text, index) => words(text, (index + 0.8) * linePx, 'figures', typePx)) },
    ],
  };
}
