/** What a drawn figure consists of: plain shapes at their places, px from the upper left corner. A canvas and an SVG draw the same. */
import type { FigureTrace } from '../../dsp/measure/figures/index.ts';
import type { ColourName } from './palette.ts';
import type { AxisScale } from './scales.ts';

/** How a line is drawn. Told from others by width and dash before colour. */
export interface Pen {
  readonly colour: ColourName;
  readonly widthPx: number;
  /** Lengths of dash, gap, dash, …, px; empty: unbroken. */
  readonly dash: readonly number[];
  /** Drawn over it, thinner, in the ground's colour: an outline remains. */
  readonly corePx?: number;
}

export type Face = 'figures' | 'heading' | 'words';

export type SceneItem =
  /** Polylines: x, y, x, y, … for each unbroken run. */
  | { readonly kind: 'runs'; readonly runs: readonly (readonly number[])[]; readonly pen: Pen; readonly of?: string }
  /** A closed shape without an edge. */
  | { readonly kind: 'area'; readonly points: readonly number[]; readonly fill: ColourName; readonly of?: string }
  /** Points: x, y, x, y, …; a ring where not filled. */
  | { readonly kind: 'dots'; readonly points: readonly number[]; readonly radiusPx: number; readonly filled: boolean; readonly pen: Pen; readonly of?: string }
  | {
    readonly kind: 'words'; readonly text: string; readonly x: number;
    /** Of the line that the letters stand on. */
    readonly y: number;
    readonly anchor: 'start' | 'middle' | 'end'; readonly face: Face; readonly sizePx: number; readonly colour: ColourName;
    /** Cleared of lines round the letters. */
    readonly clear: boolean; readonly of?: string;
  };

/** A trace with all that is needed to read and to draw it. */
export interface DrawnTrace {
  readonly trace: FigureTrace;
  readonly pen: Pen;
  readonly scale: AxisScale;
  /** Label of the kept figure it belongs to; null: of the figure itself. */
  readonly kept: string | null;
}

/** Where a panel stands, and its scales. */
export interface ScenePanel {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
  readonly x: AxisScale;
  readonly leftScale: AxisScale;
  readonly rightScale: AxisScale | null;
  readonly traces: readonly DrawnTrace[];
  readonly selects: boolean;
}

export interface Scene {
  readonly widthPx: number;
  readonly heightPx: number;
  /** In the order in which they are drawn. */
  readonly items: readonly SceneItem[];
  readonly panels: readonly ScenePanel[];
  /** Where each label was put, to be given to the next drawing so that labels do not jump. */
  readonly labelPlaces: LabelPlaces;
}

export type LabelPlaces = ReadonlyMap<string, string>;
