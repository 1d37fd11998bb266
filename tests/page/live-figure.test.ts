/** The open figure of what plays: when it listens anew, when it only draws anew, and how often its words change. */
import { describe, expect, it } from 'vitest';
import { factsOfSetting, figureViewById, spectrumSettings } from '../../dsp/measure/figures/index.ts';
import { SpectrumMeter, spectrumPoints, type SpectrumPoints } from '../../dsp/measure/index.ts';
import { defaultValues, type StageValues } from '../../dsp/stages/index.ts';
import { LiveFigure, wordsMs } from '../../ui/page/engine/live-figure.ts';
import { FigureFeed } from '../../ui/page/figure-feed.ts';
import { pathOf, rateHz, sine } from '../path/support.ts';

const view = figureViewById('spectrum')!;
const standard = defaultValues({ parameters: view.parameters });
const factsAt = (fullScaleDbu: 18 | 24) => factsOfSetting({ path: pathOf(['line'], { fullScaleDbu }), baseRateHz: rateHz, scope: { kind: 'path' }, programme: null });

function open() {
  const started: StageValues[] = [];
  let stops = 0;
  let nowMs = 0;
  let tell: (points: SpectrumPoints) => void = () => undefined;
  const feed = new FigureFeed();
  const figure = new LiveFigure({ start: (values, hear) => { started.push(values); tell = hear; }, stop: () => { stops += 1; } }, feed, () => nowMs);
  const want = (values: StageValues = {}, fullScaleDbu: 18 | 24 = 24): void => figure.want({ view, values: { ...standard, ...values }, facts: factsAt(fullScaleDbu) });
  return {
    figure, feed, want, started, stops: () => stops, tell: (points: SpectrumPoints) => tell(points), after: (ms: number) => { nowMs += ms; },
    caption: () => feed.shown!.figure!.caption, trace: () => feed.shown!.figure!.panels[0]!.traces[0]!,
  };
}

function toneAt(peak: number, of: 'playing' | 'stopped' = 'playing'): SpectrumPoints {
  const meter = new SpectrumMeter(spectrumSettings(standard, rateHz, 1));
  meter.push([sine(1000, peak, 16_384)], 16_384);
  return spectrumPoints(meter, of);
}

describe('the open figure of what plays', () => {
  it('listens from the moment it is wanted, and says that nothing plays', () => {
    const { want, started, caption, feed } = open();
    want();
    expect(started).toHaveLength(1);
    expect(caption()).toContain('Nothing plays');
    expect([feed.shown!.view, feed.shown!.updating]).toEqual(['spectrum', false]);
  });

  it('begins anew where what is measured changes, and only draws anew where it is read otherwise', () => {
    const { want, started, tell, caption, feed } = open();
    want();
    tell(toneAt(0.1));
    expect(caption()).toContain('+4.0 dBu');
    want({ unit: 'dbu', held: 'on' });
    want({}, 18);
    expect(started).toHaveLength(1);
    expect(caption()).toContain('−2.0 dBu');
    for (const [id, value] of Object.entries({ tapped: 'input', size: '1024', window: 'hann', averaging: 'none', averages: 2 })) {
      const before = started.length;
      want({ [id]: value });
      expect(started).toHaveLength(before + 1);
      expect(feed.shown!.figure!.caption).toContain('Nothing plays');
      want();
    }
  });

  it('draws every spectrum, and changes words and tables no oftener than they are read', () => {
    const { want, tell, after, caption, trace, feed } = open();
    want();
    tell(toneAt(0.1));
    const level = (): number => Math.max(...Array.from(trace().y).filter((db) => db === db));
    const [wordsBefore, tableBefore] = [caption(), feed.shown!.figure!.tables];
    after(wordsMs / 2);
    tell(toneAt(0.01));
    expect(Math.round(level())).toBe(-40);
    expect([caption(), feed.shown!.figure!.tables]).toEqual([wordsBefore, tableBefore]);
    after(wordsMs / 2);
    tell(toneAt(0.01));
    expect(caption()).toContain('−40.0 dBFS');
    // That it stopped is said at once.
    tell(toneAt(0.01, 'stopped'));
    expect(caption()).toContain('Nothing plays; what played last');
  });

  it('stops once when another figure is opened', () => {
    const { figure, want, stops, started } = open();
    figure.want(null);
    expect(stops()).toBe(0);
    want();
    figure.want(null);
    figure.want(null);
    expect(stops()).toBe(1);
    want();
    expect(started).toHaveLength(2);
  });
});
