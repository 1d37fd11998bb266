/**
 * The colours of the bench, in OKLCH (lightness 0–1, chroma, hue in degrees), for light and dark; the one place they are written. The page makes custom properties of
 * them, a figure written to a file the colours of its lines. A test recomputes every contrast ratio.
 */

export type Oklch = readonly [lightness: number, chroma: number, hueDegrees: number];

export type ColourName =
  | 'paper' | 'sheet' | 'wash'
  | 'ink' | 'pencil' | 'pen' | 'madder' | 'edge'
  | 'trace-2' | 'trace-3' | 'trace-4'
  | 'grid';

/** `ground` is written on; `text` carries words (≥ 4.5 on every ground); `graphic` is a boundary or a trace (≥ 3); `decoration` says nothing. */
export type ColourUse = 'ground' | 'text' | 'graphic' | 'decoration';

export interface PaletteEntry {
  readonly use: ColourUse;
  readonly light: Oklch;
  readonly dark: Oklch;
  /** System colour where colours are forced. */
  readonly forced: string;
}

export const palette: Readonly<Record<ColourName, PaletteEntry>> = {
  paper: { use: 'ground', light: [0.97, 0.006, 110], dark: [0.2, 0.014, 262], forced: 'Canvas' },
  sheet: { use: 'ground', light: [0.99, 0.004, 110], dark: [0.235, 0.016, 262], forced: 'Canvas' },
  wash: { use: 'ground', light: [0.925, 0.03, 262], dark: [0.33, 0.04, 262], forced: 'Canvas' },
  ink: { use: 'text', light: [0.27, 0.03, 262], dark: [0.925, 0.012, 92], forced: 'CanvasText' },
  pencil: { use: 'text', light: [0.46, 0.02, 262], dark: [0.75, 0.014, 92], forced: 'CanvasText' },
  pen: { use: 'text', light: [0.45, 0.14, 262], dark: [0.79, 0.1, 250], forced: 'Highlight' },
  madder: { use: 'text', light: [0.5, 0.15, 28], dark: [0.77, 0.12, 38], forced: 'CanvasText' },
  edge: { use: 'graphic', light: [0.6, 0.02, 240], dark: [0.6, 0.02, 240], forced: 'ButtonBorder' },
  'trace-2': { use: 'graphic', light: [0.55, 0.12, 50], dark: [0.8, 0.11, 65], forced: 'CanvasText' },
  'trace-3': { use: 'graphic', light: [0.5, 0.083, 175], dark: [0.8, 0.09, 175], forced: 'CanvasText' },
  'trace-4': { use: 'graphic', light: [0.48, 0.13, 330], dark: [0.78, 0.1, 330], forced: 'CanvasText' },
  grid: { use: 'decoration', light: [0.905, 0.014, 220], dark: [0.32, 0.016, 240], forced: 'Canvas' },
};
