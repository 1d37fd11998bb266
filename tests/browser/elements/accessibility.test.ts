import axe from 'axe-core';
import { describe, expect, it } from 'vitest';
import '../../../ui/page/elements/harmonic-ledger.ts';
import '../../../ui/page/elements/path-strip.ts';
import '../../../ui/page/elements/stage-sheet.ts';
import type { StageSheet } from '../../../ui/page/elements/stage-sheet.ts';
import type { PageShape } from '../../../ui/page/state.ts';
import { benchState, readingsOf } from './bench-state.ts';
import { everyElement, mount, settle } from './stage.ts';

const readings = readingsOf([-62, -78, -88, -96, -105, -111, -119, -127, -Infinity]);
const reading = { readings: [], remarks: [], nodeVolts: { collector: 14.2, base: 3.3 }, clipOutputDbu: null };
const cases: [string, string, PageShape, number][] = [
  ['stage-sheet', 'light', 'wide', 664], ['stage-sheet', 'dark', 'wide', 664], ['stage-sheet', 'light', 'narrow', 358],
  ['path-strip', 'light', 'wide', 1232], ['path-strip', 'dark', 'narrow', 358],
  ['harmonic-ledger', 'light', 'wide', 320], ['harmonic-ledger', 'dark', 'wide', 320], ['harmonic-ledger', 'light', 'narrow', 358],
];

async function mounted(tag: string, look: string, shape: PageShape, widthPx: number): Promise<StageSheet> {
  const live = { harmonics: readings, gestureMarks: { 5: -80 }, reports: { s1: reading }, refusals: { 's1.collectorOhms': 'RC: nothing was written. Kept 2.2 kΩ.' } };
  const { element } = await mount<StageSheet>(tag, { state: benchState({ stages: ['single-ended-bipolar', 'push-pull', 'harmonic-shaping'], live }), shape, low: false }, { widthPx });
  document.documentElement.dataset['look'] = look;
  await settle(element);
  return element;
}

describe.each(cases)('%s, %s, %s', (tag, look, shape, widthPx) => {
  it('passes the rules of WCAG 2.2 A and AA', async () => {
    await mounted(tag, look, shape, widthPx);
    const { violations, passes } = await axe.run(document.body, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] });
    expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 160)).join(' | ')}`)).toEqual([]);
    expect(passes.length).toBeGreaterThan(3);
  });

  it('gives every control a target of 24 by 24 px and no text under 13 px', async () => {
    const element = await mounted(tag, look, shape, widthPx);
    for (const each of everyElement(element.shadowRoot!)) {
      if (each.matches('button, select, input, [role="spinbutton"]')) {
        const { width, height } = each.getBoundingClientRect();
        expect(width >= 24 && height >= 24, `${each.outerHTML.slice(0, 120)}: ${width} × ${height}`).toBe(true);
      }
      if ([...each.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.textContent!.trim() !== '') && !each.matches('style')) {
        expect(Number.parseFloat(getComputedStyle(each).fontSize), each.outerHTML.slice(0, 120)).toBeGreaterThanOrEqual(13);
      }
    }
  });
});
