/** A figure as pixels. Painted on a canvas and not from its SVG: an SVG drawn as an image does not see the page's typefaces. */
import type { Figure } from '../../dsp/measure/figures/index.ts';
import { figureSheet, fontOf, itemPath } from '../plot/index.ts';
import type { FigureSheet, SceneItem, SheetOptions } from '../plot/index.ts';

/** Twice as many pixels as the sheet has, for paper. */
const scale = 2;

/** PNG of a figure on its sheet. @throws Error where the browser makes none */
export async function figurePng(figure: Figure, options: SheetOptions = {}): Promise<Uint8Array<ArrayBuffer>> {
  const sheet = figureSheet(figure, options);
  const words = sheet.parts.flatMap(({ items }) => items.filter((item) => item.kind === 'words'));
  // What cannot be had falls back, as on the page.
  await Promise.all(words.map(({ face, sizePx, text }) => document.fonts.load(fontOf(face, sizePx), text).catch(() => [])));
  const canvas = document.createElement('canvas');
  canvas.width = scale * sheet.widthPx;
  canvas.height = scale * sheet.heightPx;
  paint(sheet, canvas.getContext('2d')!);
  const blob = await new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, 'image/png'));
  if (!blob) throw new Error('the browser made no picture of it');
  return new Uint8Array(await blob.arrayBuffer());
}

function paint({ widthPx, heightPx, ground, parts, colourOf }: FigureSheet, to: CanvasRenderingContext2D): void {
  to.scale(scale, scale);
  to.fillStyle = ground;
  to.fillRect(0, 0, widthPx, heightPx);
  to.lineJoin = 'round';
  for (const { x, y, items } of parts) {
    to.save();
    to.translate(x, y);
    for (const item of items) paintItem(item, to, colourOf);
    to.restore();
  }
}

function paintItem(item: SceneItem, to: CanvasRenderingContext2D, colourOf: FigureSheet['colourOf']): void {
  if (item.kind === 'words') {
    to.font = fontOf(item.face, item.sizePx);
    to.textAlign = item.anchor === 'middle' ? 'center' : item.anchor;
    if (item.clear) {
      to.setLineDash([]);
      to.lineWidth = 4;
      to.strokeStyle = colourOf('sheet');
      to.strokeText(item.text, item.x, item.y);
    }
    to.fillStyle = colourOf(item.colour);
    to.fillText(item.text, item.x, item.y);
    return;
  }
  const path = new Path2D(itemPath(item));
  if (item.kind !== 'runs') {
    to.fillStyle = colourOf(item.kind === 'area' ? item.fill : item.filled ? item.pen.colour : 'sheet');
    to.fill(path);
    if (item.kind === 'area') return;
  }
  to.setLineDash([...item.pen.dash]);
  to.lineWidth = item.pen.widthPx;
  to.strokeStyle = colourOf(item.pen.colour);
  to.stroke(path);
}
