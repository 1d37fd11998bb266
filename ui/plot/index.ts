// Figures as scenes, pictures and text: pure, for page and command line; and the colours of both.
export { buildScene, type KeptFigure, type PlotOptions } from './build-scene.ts';
export { nearestStop, nearestTrace, readAt, spokenReading, stepped, stops } from './cursor.ts';
export { hexOf, oklchToLinearSrgb } from './colour.ts';
export { speakReading, writeFigure, writeReading } from './numbers.ts';
export { paletteCss } from './palette-css.ts';
export { palette, type ColourName, type Oklch } from './palette.ts';
export type { DrawnTrace, LabelPlaces, Scene, SceneItem, ScenePanel } from './scene.ts';
export { figureSheet, type FigureSheet, type SheetOptions } from './sheet.ts';
export { figureSvg, fontOf, itemPath } from './svg.ts';
export { cellText, columnHeading, figureCsv, figureData, tableText, writeCsv } from './table.ts';
