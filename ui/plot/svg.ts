/** A figure as an SVG file, with colours and sizes of its own; and the path data and fonts that the page's drawing shares with it. */
import type { Figure } from '../../dsp/measure/figures/index.ts';
import type { ColourName } from './palette.ts';
import type { Face, Pen, SceneItem } from './scene.ts';
import { figureSheet } from './sheet.ts';
import type { SheetOptions } from './sheet.ts';

/** A colour as the reader of the file takes it. */
type ColourOf = (name: ColourName) => string;

const faces: Readonly<Record<Face, string>> = {
  figures: "400 SIZEpx 'Source Sans 3', 'Liberation Sans', sans-serif",
  heading: "600 SIZEpx 'STIX Two Text', 'Liberation Serif', serif",
  words: "italic 400 SIZEpx 'STIX Two Text', 'Liberation Serif', serif",
};

/** The shorthand of a face at a size, as CSS and canvas take it. */
export const fontOf = (face: Face, sizePx: number): string => faces[face].replace('SIZE', String(sizePx));

/** Text and attribute values: the five characters, and none that XML 1.0 does not allow. */
function escapeXml(text: string): string {
  return text.replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '').replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;').replaceAll("'", '&apos;');
}

/** A tenth of a px is finer than any line. */
const tenth = (px: number): string => String(Math.round(10 * px) / 10);

function pathOf(run: readonly number[]): string {
  let path = `M${tenth(run[0]!)} ${tenth(run[1]!)}`;
  for (let k = 2; k < run.length; k += 2) path += `L${tenth(run[k]!)} ${tenth(run[k + 1]!)}`;
  return path;
}

const circle = (x: number, y: number, r: number): string => `M${tenth(x - r)} ${tenth(y)}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`;

/** What an item's shape is as path data; empty: there is nothing of it. Words have none. */
export function itemPath(item: Exclude<SceneItem, { kind: 'words' }>): string {
  switch (item.kind) {
    case 'runs': return item.runs.map(pathOf).join('');
    case 'area': return `${pathOf(item.points)}Z`;
    case 'dots': return Array.from({ length: item.points.length / 2 }, (_, k) => circle(item.points[2 * k]!, item.points[2 * k + 1]!, item.radiusPx)).join('');
  }
}

function strokeOf({ colour, widthPx, dash }: Pen, colourOf: ColourOf): string {
  return `fill="none" stroke="${colourOf(colour)}" stroke-width="${widthPx}" stroke-linejoin="round"${dash.length > 0 ? ` stroke-dasharray="${dash.join(' ')}"` : ''}`;
}

function itemMarkup(item: SceneItem, colourOf: ColourOf): string {
  const of = item.of === undefined ? '' : ` data-of="${escapeXml(item.of)}"`;
  switch (item.kind) {
    case 'runs': return item.runs.length === 0 ? '' : `<path${of} d="${itemPath(item)}" ${strokeOf(item.pen, colourOf)}/>`;
    case 'area': return `<path${of} d="${itemPath(item)}" fill="${colourOf(item.fill)}"/>`;
    case 'dots': return item.points.length === 0 ? '' : `<path${of} d="${itemPath(item)}" fill="${colourOf(item.filled ? item.pen.colour : 'sheet')}" stroke="${colourOf(item.pen.colour)}" stroke-width="${item.pen.widthPx}"/>`;
    case 'words': {
      const clear = item.clear ? ` paint-order="stroke" stroke="${colourOf('sheet')}" stroke-width="4" stroke-linejoin="round"` : '';
      return `<text${of} x="${tenth(item.x)}" y="${tenth(item.y)}" text-anchor="${item.anchor}" style="font:${escapeXml(fontOf(item.face, item.sizePx))}" fill="${colourOf(item.colour)}"${clear}>${escapeXml(item.text)}</text>`;
    }
  }
}

/** A figure as a picture by itself: its title above, the sentence and remarks beneath, a name and a description for those who do not see it. */
export function figureSvg(figure: Figure, options: SheetOptions = {}): string {
  const { widthPx, heightPx, ground, colourOf, parts } = figureSheet(figure, options);
  const { idPrefix = '' } = options;
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${widthPx}" height="${heightPx}" viewBox="0 0 ${widthPx} ${heightPx}" role="img" aria-labelledby="${idPrefix}title ${idPrefix}description">`,
    `<title id="${idPrefix}title">${escapeXml(figure.title)}</title>`,
    `<desc id="${idPrefix}description">${escapeXml([figure.caption, ...figure.remarks].join(' '))}</desc>`,
    `<rect width="${widthPx}" height="${heightPx}" fill="${ground}"/>`,
    ...parts.flatMap(({ x, y, items }) => [`<g transform="translate(${x} ${y})">`, ...items.map((item) => itemMarkup(item, colourOf)), '</g>']),
    '</svg>', '',
  ].join('\n');
}
