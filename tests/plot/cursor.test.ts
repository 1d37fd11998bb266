import { describe, expect, it } from 'vitest';
import { buildScene, nearestStop, nearestTrace, readAt, spokenReading, stepped, stops } from '../../ui/plot/index.ts';
import { figureOf, frequencyAxis, harmonicAxis, levelAxis, panelOf, range, traceOf } from './figures.ts';
import type { FigurePanel, FigureTrace } from '../../dsp/measure/figures/index.ts';

const panelWith = (traces: readonly FigureTrace[], change: Partial<FigurePanel> = {}) => buildScene(figureOf([panelOf(traces, change)]), { widthPx: 720, heightPx: 480 }).panels[0]!;

describe('reading a line', () => {
  it('is exact at its points and straight as drawn between them', () => {
    const panel = panelWith([traceOf('a', [20, 200, 20_000], [-100, -60, -80])], { x: frequencyAxis });
    const read = (hz: number) => readAt(panel.traces[0]!, panel, hz);
    expect([read(20), read(200), read(20_000)]).toEqual([-100, -60, -80]);
    // On a logarithmic axis the middle of 200 Hz and 20 kHz is 2 kHz.
    expect(Math.abs(read(2000) + 70)).toBeLessThan(1e-9);
  });

  it('on a logarithmic scale of values is straight there', () => {
    const panel = panelWith([traceOf('a', [0, 10], [1, 100])], { left: { ...harmonicAxis, unit: 'Ω', scale: 'logarithmic', from: 0.1, to: 1000 } });
    expect(Math.abs(readAt(panel.traces[0]!, panel, 5) - 10)).toBeLessThan(1e-9);
  });

  it('is nothing in a gap and beyond the ends, a tread on a stair, a point only near it', () => {
    const panel = panelWith([traceOf('line', [-20, 0, 10, 20], [-10, -20, NaN, -30]), traceOf('stair', [-20, 0, 20], [-10, -20, -30], { drawn: 'stair' }), traceOf('points', [-20, 0, 20], [-10, -20, -30], { drawn: 'points' })]);
    const read = (trace: number, level: number) => readAt(panel.traces[trace]!, panel, level);
    expect([read(0, 5), read(0, 15), read(0, -30), read(0, 25)]).toEqual([NaN, NaN, NaN, NaN]);
    expect([read(0, 0), read(0, 20)]).toEqual([-20, -30]);
    expect(Math.abs(read(0, -10) + 15)).toBeLessThan(1e-9);
    expect([read(1, -1), read(1, 0), read(1, 19)]).toEqual([-10, -20, -20]);
    expect([read(2, 0.4), read(2, 10)]).toEqual([-20, NaN]);
  });

  it('goes beyond the axis with the line', () => {
    const panel = panelWith([traceOf('a', [-20, 20], [-20, 60])]);
    expect(Math.abs(readAt(panel.traces[0]!, panel, 10) - 40)).toBeLessThan(1e-9);
  });

  it('is spoken with its line, its place and its unit', () => {
    const panel = panelWith([traceOf('H3', range(61, -60, 30), range(61, -160, 0)), traceOf('gap', [0], [NaN])]);
    expect(spokenReading(panel.traces[0]!, panel, 4.5)).toBe('H3 at +4.5 dBu: minus 45.3 decibels');
    expect(spokenReading(panel.traces[1]!, panel, 4)).toBe('gap at +4.0 dBu: nothing here');
  });
});

describe('stepping along a line', () => {
  it('takes its own points, those that are there and on the panel', () => {
    const panel = panelWith([traceOf('a', [-70, -60, -10, 0, 10, 20], [-1, -2, -3, NaN, -4, -5])]);
    const all = stops(panel.traces[0]!, panel);
    expect(all).toEqual([-60, -10, 10, 20]);
    expect([stepped(all, null, 1), stepped(all, null, -1), stepped(all, -10, 1), stepped(all, -5, 1), stepped(all, -5, -1), stepped(all, 20, 1), stepped(all, -60, 10), stepped(all, 0, -Infinity), stepped(all, 0, Infinity), stepped(all, null, -Infinity), stepped(all, null, Infinity), stepped([], 0, 1)])
      .toEqual([-60, 20, 10, 10, -10, 20, 20, -60, 20, -60, 20, null]);
    expect(nearestStop(all, panel, 1)).toBe(10);
  });

  it('takes one point a px of a crowded line, the last too', () => {
    const panel = panelWith([traceOf('a', range(50_001, -60, 30), range(50_001, -100, -10))]);
    const all = stops(panel.traces[0]!, panel);
    expect(all.length).toBeLessThanOrEqual(panel.right - panel.left + 2);
    expect(all.at(-1)).toBe(30);
    expect(levelAxis.to).toBe(30);
  });

  it('finds the line nearest to a pointer', () => {
    const panel = panelWith([traceOf('a', [-60, 30], [-20, -20]), traceOf('b', [-60, 30], [-100, -100])]);
    const y = (db: number) => panel.bottom + ((panel.top - panel.bottom) * (db + 160)) / 160;
    expect([nearestTrace(panel, 0, y(-50)), nearestTrace(panel, 0, y(-80)), nearestTrace(panelWith([]), 0, 100)]).toEqual([0, 1, -1]);
  });
});
