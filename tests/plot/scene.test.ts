import { describe, expect, it } from 'vitest';
import { buildScene } from '../../ui/plot/index.ts';
import type { Scene, SceneItem } from '../../ui/plot/index.ts';
import { keptPen, orderPen, pensOf } from '../../ui/plot/pens.ts';
import { figureOf, fixtures, frequencyAxis, harmonicAxis, harmonicsFigure, hertz, panelOf, responseFigure, traceOf, waveformFigure } from './figures.ts';

const size = { widthPx: 720, heightPx: 480 };
const of = <K extends SceneItem['kind']>(scene: Scene, kind: K, name: string) => scene.items.filter((item): item is Extract<SceneItem, { kind: K }> => item.kind === kind && item.of === name);
const texts = (scene: Scene, name: string) => of(scene, 'words', name).map(({ text }) => text);

describe('pens', () => {
  it('draw 2 and 3 solid, 4 and 6 as outlines, every harsh order dashed, no two alike', () => {
    const pens = [2, 3, 4, 5, 6, 7, 8, 9, 10].map(orderPen);
    expect(pens.map(({ dash, corePx }) => (dash.length > 0 ? 'dashed' : corePx === undefined ? 'solid' : 'outline'))).toEqual(['solid', 'solid', 'outline', 'dashed', 'outline', 'dashed', 'dashed', 'dashed', 'dashed']);
    expect(new Set(pens.map(({ dash, widthPx, corePx }) => JSON.stringify([dash, widthPx, corePx]))).size).toBe(9);
    expect(orderPen(17).dash.length).toBeGreaterThan(0);
  });

  it('are different for lines of the same role, without a look at colour', () => {
    const pens = pensOf([0, 1, 2, 3, 4, 5].map((k) => traceOf(String(k), [], [])));
    expect(new Set(pens.map(({ dash, widthPx }) => JSON.stringify([dash, widthPx]))).size).toBe(6);
    const roles = pensOf((['main', 'second', 'third', 'ideal', 'difference', 'noise'] as const).map((role) => traceOf(role, [], [], { role })));
    expect(new Set(roles.map(({ dash, widthPx }) => JSON.stringify([dash, widthPx]))).size).toBe(6);
  });

  it('leave a line by itself unbroken, and a sum among harmonics broad, since a dash says harsh there', () => {
    expect(pensOf([traceOf('residual', [], [], { role: 'difference' })]).map(({ dash }) => dash)).toEqual([[]]);
    const [sum, ...orders] = pensOf([traceOf('THD', [], []), ...[2, 3, 4].map((order) => traceOf(`H${order}`, [], [], { order }))]);
    expect(sum!.dash).toEqual([]);
    for (const { widthPx } of orders) expect(sum!.widthPx).toBeGreaterThan(widthPx);
  });

  it('of what is kept are thinner, with the same dash', () => {
    for (const order of [2, 3, 4, 5, 7]) {
      const [now, kept] = [orderPen(order), keptPen(orderPen(order), 0)];
      expect(kept.widthPx).toBeLessThan(now.widthPx);
      expect(kept.dash).toEqual(now.dash);
    }
  });
});

describe('a scene', () => {
  it('draws a line where its values are', () => {
    const scene = buildScene(figureOf([panelOf([traceOf('a', [20, 200, 2000, 20_000], [-160, -80, 0, -80])], { x: frequencyAxis })]), size);
    const { left, right, top, bottom } = scene.panels[0]!;
    const expected = [left, bottom, left + (right - left) / 3, (top + bottom) / 2, left + 2 * (right - left) / 3, top, right, (top + bottom) / 2];
    const [run] = of(scene, 'runs', 'a')[0]!.runs;
    expected.forEach((px, k) => expect(Math.abs(run![k]! - px), String(k)).toBeLessThan(1e-6));
  });

  it('says once in words what the dashes mean, and only where there are some', () => {
    expect(texts(buildScene(harmonicsFigure(), size), 'foot')).toEqual(['dashed: commonly judged harsh (common practice, no source)']);
    expect(texts(buildScene(harmonicsFigure(), { ...size, hidden: new Set(['H5', 'H7', 'H8', 'H9', 'H10']) }), 'foot')).toEqual([]);
    expect(texts(buildScene(responseFigure(), size), 'foot')).toEqual([]);
  });

  it('leaves out what is hidden', () => {
    const scene = buildScene(harmonicsFigure(), { ...size, hidden: new Set(['H4']) });
    expect(scene.panels[0]!.traces.map(({ trace }) => trace.id)).toEqual(['H2', 'H3', 'H5', 'H6', 'H7', 'H8', 'H9', 'H10']);
    expect(of(scene, 'runs', 'H4')).toEqual([]);
  });

  it('puts panels one above the other on the same ends, and figures an axis they share once', () => {
    const scene = buildScene(waveformFigure(), size);
    expect(new Set(scene.panels.map(({ left, right }) => `${left} ${right}`)).size).toBe(1);
    scene.panels.slice(1).forEach(({ top }, k) => expect(top).toBeGreaterThan(scene.panels[k]!.bottom));
    expect(texts(scene, 'x title')).toEqual(['time, ms', 'input, V']);
    expect(texts(scene, 'panel title')).toEqual(['Output', 'Residual, fundamental removed, 20 times larger', 'Where it is on the curve']);
    expect(texts(scene, 'left title')).toEqual(['output, V', 'residual, mV', 'output, V']);
  });

  it('has units at both upright axes', () => {
    const scene = buildScene(responseFigure(), size);
    expect([texts(scene, 'left title'), texts(scene, 'right title')]).toEqual([['gain, dB', 'phase, degrees'], ['group delay, ms']]);
  });

  it('draws what was kept behind, thin, under its own name, on axes that hold both', () => {
    const kept = figureOf([panelOf([traceOf('a', [20, 20_000], [-150, -150])], { x: frequencyAxis, left: { ...harmonicAxis, from: -200 } })]);
    const now = figureOf([panelOf([traceOf('a', [20, 20_000], [-50, -50])], { x: frequencyAxis })]);
    const scene = buildScene(now, { ...size, kept: [{ label: 'first', figure: kept }] });
    expect(scene.panels[0]!.traces.map(({ kept: label, scale }) => [label, scale.axis.from])).toEqual([[null, -200], ['first', -200]]);
    expect(of(scene, 'runs', 'a, first')[0]!.pen.widthPx).toBeLessThan(of(scene, 'runs', 'a')[0]!.pen.widthPx);
    // Behind: drawn before.
    const index = (name: string) => scene.items.findIndex((item) => item.of === name);
    expect(index('a, first')).toBeLessThan(index('a'));
    expect(scene.items.filter((item) => item.kind === 'words' && item.clear).map((item) => (item as { text: string }).text).sort()).toEqual(['a', 'a, first']);
    // Of many lines one carries the name.
    const many = buildScene(harmonicsFigure(), { ...size, kept: [{ label: 'first', figure: harmonicsFigure(8) }] });
    expect(many.items.filter((item) => item.kind === 'words' && item.text.includes('first'))).toHaveLength(1);
  });

  it('tells close uprights apart by heads and not by dashes, and names them at their tops', () => {
    const scene = buildScene(figureOf([panelOf([
      traceOf('tones', [1000, 7000], [-20, -10], { drawn: 'uprights' }), traceOf('products', [100, 110, 120], [-90, -80, -85], { drawn: 'uprights', role: 'second' }),
      traceOf('more', [300, 310], [-90, -80], { drawn: 'uprights', role: 'third' }),
    ], { x: frequencyAxis })]), size);
    expect(scene.items.flatMap((item) => (item.kind === 'runs' && ['tones', 'products', 'more'].includes(item.of ?? '') ? [item.pen.dash.length] : []))).toEqual([0, 0, 0]);
    expect([of(scene, 'dots', 'tones').length, of(scene, 'dots', 'products')[0]!.filled, of(scene, 'dots', 'more')[0]!.filled]).toEqual([0, false, true]);
    const { x } = scene.panels[0]!;
    const name = scene.items.find((item) => item.kind === 'words' && item.text === 'products') as { x: number };
    expect(Math.min(...[100, 110, 120].map((hz) => Math.abs(x.place(hz) - name.x)))).toBeLessThan(70);
  });

  it('counts orders by whole numbers', () => {
    const orders = [2, 3, 4, 5, 6, 7, 8, 9, 10];
    const x = { label: 'harmonic', unit: '', scale: 'linear', written: 'plain', from: 1.5, to: 10.5 } as const;
    expect(texts(buildScene(figureOf([panelOf([traceOf('a', orders, orders.map((n) => -10 * n))], { x })]), { widthPx: 960, heightPx: 400 }), 'x figures')).toEqual(orders.map(String));
    expect(texts(buildScene(figureOf([panelOf([traceOf('a', [2, 3.5], [-10, -20])], { x })]), { widthPx: 960, heightPx: 400 }), 'x figures')).toContain('2.5');
  });

  it('does not lay decibels over volts', () => {
    const volts = figureOf([panelOf([traceOf('a', [20, 20_000], [1, 1])], { x: frequencyAxis, left: { ...harmonicAxis, unit: 'V' } })]);
    const scene = buildScene(figureOf([panelOf([traceOf('a', [20, 20_000], [-50, -50])], { x: frequencyAxis })]), { ...size, kept: [{ label: 'volts', figure: volts }] });
    expect(scene.panels[0]!.traces).toHaveLength(1);
  });

  it('draws marks: an upright, a level, a point, a span; none beyond the ends', () => {
    const marks = [{ x: 100, words: 'upright' }, { y: -40, words: 'level' }, { x: 1000, y: -60, words: 'point' }, { x: 2000, toX: 9000, words: 'span' }, { x: 5, words: 'too low' }, { y: 20, words: 'too high' }, { x: 30_000, toX: 40_000, words: 'beyond' }];
    const scene = buildScene(figureOf([panelOf([traceOf('a', [20, 20_000], [-150, -150])], { x: frequencyAxis, marks })]), size);
    const { left, right, top, bottom } = scene.panels[0]!;
    const x = (hz: number) => left + ((right - left) * Math.log10(hz / 20)) / 3;
    const y = (db: number) => bottom + ((top - bottom) * (db + 160)) / 160;
    const runs = of(scene, 'runs', 'mark').map((item) => item.runs[0]!.map((px) => Math.round(px * 1e6) / 1e6));
    const rounded = (...all: number[]) => all.map((px) => Math.round(px * 1e6) / 1e6);
    expect(runs.slice(0, 2)).toEqual([rounded(x(100), top, x(100), bottom), rounded(left, y(-40), right, y(-40))]);
    expect(of(scene, 'dots', 'mark').map(({ points }) => rounded(...points))).toEqual([rounded(x(1000), y(-60))]);
    expect(of(scene, 'area', 'mark').map(({ points }) => rounded(points[0]!, points[2]!))).toEqual([rounded(x(2000), x(9000))]);
    expect(scene.items.filter((item) => item.of?.startsWith('label 0 mark')).map((item) => (item as { text: string }).text).sort()).toEqual(['level', 'point', 'span', 'upright']);
  });

  it('draws a span at a height as a bracket, and of bare marks the words alone', () => {
    const figure = figureOf([panelOf([traceOf('a', [20, 20_000], [-150, -150])], { x: frequencyAxis, marks: [{ x: 200, toX: 2000, y: -80, words: 'a decade' }] })]);
    const scene = buildScene(figure, size);
    const { left, right, top, bottom } = scene.panels[0]!;
    const [from, to, y] = [left + (right - left) / 3, left + (2 * (right - left)) / 3, (top + bottom) / 2];
    const expected = [[from, y - 5, from, y + 5], [from, y, to, y], [to, y - 5, to, y + 5]].flat();
    of(scene, 'runs', 'mark')[0]!.runs.flat().forEach((px, k) => expect(Math.abs(px - expected[k]!)).toBeLessThan(1e-6));
    expect(of(scene, 'area', 'mark')).toEqual([]);
    const bare = buildScene(figure, { ...size, bareMarks: true });
    expect(bare.items.filter((item) => item.of === 'mark')).toEqual([]);
    expect(bare.items.some((item) => item.kind === 'words' && item.text === 'a decade')).toBe(true);
  });

  it('shares the height as the panels ask', () => {
    const [high, low] = buildScene(figureOf([{ ...panelOf([]), share: 2.5 }, panelOf([], { title: 'gain' })]), { widthPx: 700, heightPx: 900 }).panels;
    // Rounded down to whole pixels each.
    expect(Math.abs((high!.bottom - high!.top) / (low!.bottom - low!.top) - 2.5)).toBeLessThan(0.02);
  });

  it('grows rather than draw panels too low to read', () => {
    const scene = buildScene(waveformFigure(), { widthPx: 320, heightPx: 100 });
    expect(scene.heightPx).toBeGreaterThan(100);
    for (const { top, bottom } of scene.panels) expect(bottom - top).toBeGreaterThanOrEqual(72);
  });

  it('keeps everything on its sheet at any width', () => {
    for (const figure of Object.values(fixtures)) {
      for (const widthPx of [280, 520, 1040]) {
        const scene = buildScene(figure, { widthPx, heightPx: 400 });
        for (const item of scene.items) {
          const points = item.kind === 'runs' ? item.runs.flat() : item.kind === 'words' ? [item.x, item.y] : item.points;
          points.forEach((px, k) => expect(px >= -0.01 && px <= (k % 2 ? scene.heightPx : widthPx) + 0.01, `${item.kind} ${item.of}: ${px}`).toBe(true));
        }
      }
    }
  });

  it('takes an empty line and a panel without any', () => {
    const scene = buildScene(figureOf([panelOf([traceOf('a', [], [])]), panelOf([], { title: 'nothing yet' })]), size);
    expect(scene.panels.map(({ traces }) => traces.length)).toEqual([1, 0]);
    expect(hertz(3)).toHaveLength(3);
  });
});
