// A figure as text, comma-separated values, plain data: pure, for page and command line.
export { isDecibel, speakReading, writeFigure, writeReading, type Written } from './numbers.ts';
export { cellText, columnHeading, figureCsv, figureData, tableText, writeCsv } from './table.ts';
