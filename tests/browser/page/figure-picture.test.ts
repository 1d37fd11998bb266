import { describe, expect, it } from 'vitest';
import '../../../ui/page/fonts.ts';
import { figureSheet } from '../../../ui/plot/index.ts';
import { figurePng } from '../../../ui/page/figure-picture.ts';
import { figureOf, panelOf, traceOf } from '../../plot/figures.ts';

async function pixelsOf(png: Uint8Array<ArrayBuffer>): Promise<{ width: number; height: number; dark(x: number, y: number): boolean }> {
  const image = await createImageBitmap(new Blob([png], { type: 'image/png' }));
  const context = Object.assign(document.createElement('canvas'), { width: image.width, height: image.height }).getContext('2d')!;
  context.drawImage(image, 0, 0);
  const { data, width, height } = context.getImageData(0, 0, image.width, image.height);
  return { width, height, dark: (x, y) => data[4 * (Math.round(y) * width + Math.round(x))]! < 110 };
}

describe('the picture of a figure', () => {
  it('is a PNG of twice the sheet’s size, with ink where the line is', async () => {
    const figure = figureOf([panelOf([traceOf('a', [-60, 30], [-80, -80])])], { title: 'T', caption: '' });
    const png = await figurePng(figure, { widthPx: 400, heightPx: 300 });
    expect([...png.slice(0, 8)]).toEqual([137, 80, 78, 71, 13, 10, 26, 10]);
    const sheet = figureSheet(figure, { widthPx: 400, heightPx: 300 });
    const { width, height, dark } = await pixelsOf(png);
    expect([width, height]).toEqual([800, 2 * sheet.heightPx]);
    const { x, y, items } = sheet.parts[1]!;
    const [fromX, lineY] = items.flatMap((item) => (item.kind === 'runs' && item.of === 'a' ? item.runs : []))[0] as [number, number];
    for (const across of [20, 100, 200]) {
      expect(dark(2 * (x + fromX + across), 2 * (y + lineY)), `${across} px along the line`).toBe(true);
      expect(dark(2 * (x + fromX + across), 2 * (y + lineY) + 10), `${across} px along, beneath it`).toBe(false);
    }
  });

  it('is set in the page’s own typefaces', async () => {
    const title = 'Harmonics Waveform Mm 1234';
    const figure = figureOf([panelOf([])], { title, caption: '' });
    const { width, dark } = await pixelsOf(await figurePng(figure, { widthPx: 600 }));
    let last = 0;
    for (let x = 0; x < width; x += 1) for (let y = 2 * 26; y < 2 * 46; y += 1) if (dark(x, y)) last = x;
    const measure = document.createElement('canvas').getContext('2d')!;
    const widthIn = (family: string): number => {
      measure.font = `600 20px ${family}`;
      return measure.measureText(title).width;
    };
    const own = widthIn("'STIX Two Text'");
    expect(Math.abs(own - widthIn("'Liberation Serif', serif"))).toBeGreaterThan(4);
    // 1.5 px: the side bearing of the last digit.
    expect(Math.abs(last / 2 - 24 - own), `ends at ${last / 2 - 24} of ${own} px`).toBeLessThan(1.5);
  });

  it('fills points and spans, and is dark in the dark look', async () => {
    const figure = figureOf([panelOf([traceOf('a', [-15], [-80], { drawn: 'points' })], { marks: [{ x: -50, toX: -40, words: '' }] })], { title: 'T', caption: '' });
    for (const look of ['light', 'dark'] as const) {
      const { dark, width, height } = await pixelsOf(await figurePng(figure, { widthPx: 400, heightPx: 300, look }));
      expect([dark(2, 2), dark(width - 3, height - 3)]).toEqual(look === 'dark' ? [true, true] : [false, false]);
      const { x, y, items } = figureSheet(figure, { widthPx: 400, heightPx: 300 }).parts[1]!;
      const [dot] = items.flatMap((item) => (item.kind === 'dots' ? [item.points] : []));
      expect(dark(2 * (x + dot![0]!), 2 * (y + dot![1]!))).toBe(look === 'light');
    }
  });
});
