import { describe, expect, it } from 'vitest';
import { labelBox, InkGrid, placeLabels } from '../../ui/plot/labels.ts';
import type { LabelPlace } from '../../ui/plot/labels.ts';
import { buildScene } from '../../ui/plot/index.ts';
import type { LabelPlaces, Scene, SceneItem } from '../../ui/plot/index.ts';
import { SeededRandom } from '../../dsp/math/index.ts';
import { figureOf, fixtures, frequencyAxis, harmonicsFigure, hertz, panelOf, traceOf } from './figures.ts';

const panel = { left: 0, right: 300, top: 0, bottom: 200 };
const at = (x: number, y: number, cost = 0): LabelPlace => ({ x, y, anchor: 'start', cost });
const wish = (id: string, ...places: readonly LabelPlace[]) => ({ id, text: 'some words', places: places.map((place, k): readonly [string, LabelPlace] => [String(k), place]) });
const places = (...all: Parameters<typeof placeLabels>) => placeLabels(...all).map(({ id, placeName }) => `${id} ${placeName}`);

describe('ink', () => {
  it('counts the cells a box covers', () => {
    const ink = new InkGrid(panel);
    ink.draw([0, 100, 300, 100]);
    expect(ink.covered({ left: 30, right: 59, top: 90, bottom: 110 })).toBe(10);
    expect(ink.covered({ left: 30, right: 59, top: 110, bottom: 150 })).toBe(0);
    expect(ink.covered({ left: -50, right: 400, top: -50, bottom: 400 })).toBe(101);
  });
});

describe('label placement', () => {
  it('takes the cheapest place that is on the panel and clear of other words', () => {
    const ink = new InkGrid(panel);
    expect(places([wish('a', at(280, 50), at(100, 50, 3), at(10, 100, 5)), wish('b', at(105, 52), at(10, 100, 9))], panel, ink, 13, new Map())).toEqual(['a 1', 'b 1']);
  });

  it('leaves out words without a place', () => {
    expect(places([wish('a', at(10, 50)), wish('b', at(12, 55))], panel, new InkGrid(panel), 13, new Map())).toEqual(['a 0']);
  });

  it('goes out of the way of lines, and of lines on the far side', () => {
    const ink = new InkGrid(panel);
    ink.draw([0, 50, 300, 50]);
    expect(places([wish('a', at(10, 54), at(10, 120, 20))], panel, ink, 13, new Map())).toEqual(['a 1']);
    expect(places([wish('a', { ...at(10, 68), away: 'up' }, at(10, 120, 20))], panel, ink, 13, new Map())).toEqual(['a 1']);
    expect(places([wish('a', { ...at(10, 68), away: 'down' }, at(10, 120, 20))], panel, ink, 13, new Map())).toEqual(['a 0']);
  });

  it('stays where it was unless that has become much worse', () => {
    const two = [wish('a', at(10, 50, 3), at(100, 50, 0))];
    expect(places(two, panel, new InkGrid(panel), 13, new Map([['a', '0']]))).toEqual(['a 0']);
    const ink = new InkGrid(panel);
    ink.draw([0, 48, 90, 48]);
    expect(places(two, panel, ink, 13, new Map([['a', '0']]))).toEqual(['a 1']);
  });
});

const words = (scene: Scene) => scene.items.filter((item): item is Extract<SceneItem, { kind: 'words' }> => item.kind === 'words');
const boxOf = ({ x, y, anchor, text, sizePx }: ReturnType<typeof words>[number]) => labelBox({ x, y, anchor, cost: 0 }, text, sizePx);

function expectClear(scene: Scene): void {
  const labels = words(scene).filter(({ of }) => of?.startsWith('label '));
  labels.forEach((one, k) => {
    const a = boxOf(one);
    expect(scene.panels.some(({ left, right, top, bottom }) => a.left >= left && a.right <= right + 0.01 && a.top >= top - 1.01 && a.bottom <= bottom + 0.01), `${one.text} is on a panel`).toBe(true);
    for (const other of labels.slice(k + 1)) {
      const b = boxOf(other);
      expect(a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom, `${one.text} over ${other.text}`).toBe(false);
    }
  });
}

describe('the labels of a figure', () => {
  it.each(Object.keys(fixtures) as (keyof typeof fixtures)[])('of %s lie on the panel and clear of one another at any size', (name) => {
    for (const [widthPx, heightPx] of [[320, 300], [520, 400], [1040, 600]] as const) expectClear(buildScene(fixtures[name], { widthPx, heightPx, kept: [{ label: 'as it was', figure: fixtures[name] }] }));
  });

  it('name every line where there is room, marks too', () => {
    const texts = words(buildScene(harmonicsFigure(), { widthPx: 1040, heightPx: 600 })).filter(({ of }) => of?.startsWith('label ')).map(({ text }) => text);
    expect(texts.sort()).toEqual(['H10', 'H2', 'H3', 'H4', 'H5', 'H6', 'H7', 'H8', 'H9', 'clips at +21.0 dBu', 'noise of the path']);
  });

  it('stand where their lines run apart, not where they run together', () => {
    const x = hertz(200);
    const scene = buildScene(figureOf([panelOf([traceOf('rising', x, x.map((hz) => (hz < 5000 ? -80 : -80 + 60 * Math.log10(hz / 5000)))), traceOf('falling', x, x.map((hz) => (hz < 5000 ? -80 : -80 - 60 * Math.log10(hz / 5000))))], { x: frequencyAxis })]), { widthPx: 640, heightPx: 400 });
    const parts = scene.panels[0]!.x.place(5000);
    const labels = words(scene).filter(({ of }) => of?.startsWith('label '));
    expect(labels.map(({ text }) => text).sort()).toEqual(['falling', 'rising']);
    for (const { x: at, text } of labels) expect(at, text).toBeGreaterThan(parts);
  });

  it('are clear of one another for lines of any course', () => {
    const random = new SeededRandom(20261126);
    for (let n = 0; n < 20; n += 1) {
      const x = hertz(60);
      const traces = Array.from({ length: 8 }, (_, k) => {
        const [base, slope, bend] = [-100 * random.nextUnit(), 40 * random.nextUnit() - 20, 6 * random.nextUnit()];
        return traceOf(`line ${k}`, x, x.map((hz) => base + slope * Math.log10(hz / 500) + 10 * Math.sin(bend * Math.log10(hz))));
      });
      expectClear(buildScene(figureOf([panelOf(traces, { x: frequencyAxis })]), { widthPx: 420, heightPx: 300 }));
    }
  });

  it('stay where they are while the lines move, as far as they can', () => {
    const moves = (keeping: boolean): number => {
      let [before, count]: [LabelPlaces, number] = [new Map(), 0];
      for (let k = 0; k < 30; k += 1) {
        const { labelPlaces } = buildScene(harmonicsFigure(0.2 * k), { widthPx: 720, heightPx: 480, ...(keeping ? { labelPlaces: before } : {}) });
        count += [...labelPlaces].filter(([id, place]) => before.has(id) && before.get(id) !== place).length;
        before = labelPlaces;
      }
      return count;
    };
    expect(moves(true)).toBeLessThan(moves(false) / 8);
  });
});
