import { describe, expect, it, vi } from 'vitest';
import { userEvent } from 'vitest/browser';
import axe from 'axe-core';
import { loopSpectrumInSteps } from '../../../dsp/measure/index.ts';
import type { LoopSpectrum } from '../../../dsp/measure/index.ts';
import { defaultValues, stageById } from '../../../dsp/stages/index.ts';
import type { StageValues } from '../../../dsp/stages/index.ts';
import { SeededRandom } from '../../../dsp/math/index.ts';
import { autosaveKey, keepSaving, saveAfterMs } from '../../../ui/page/autosave.ts';
import { Bench } from '../../../ui/page/bench.ts';
import type { PlotArea } from '../../../ui/page/elements/plot-area.ts';
import '../../../ui/page/elements/response-curve.ts';
import type { ResponseCurve, SweepDetail } from '../../../ui/page/elements/response-curve.ts';
import '../../../ui/page/elements/stage-sheet.ts';
import type { StageSheet } from '../../../ui/page/elements/stage-sheet.ts';
import { benchState } from './bench-state.ts';
import { everyElement, find, mount, settle } from './stage.ts';
import type { Mounted } from './stage.ts';

const equaliser = stageById('equaliser');
const shelved: StageValues = {
  ...defaultValues(equaliser), section2Db: 6, section2Order: 'second-apart', section2ZeroQ: 0.8, section2PoleQ: 0.7,
};

function noiseSpectrum(): LoopSpectrum {
  const random = new SeededRandom(1);
  const job = loopSpectrumInSteps([Float64Array.from({ length: 48_000 }, () => 0.1 * random.nextGaussian())], 48_000);
  for (;;) {
    const step = job.next();
    if (step.done) return step.value!;
  }
}

async function curveOf(values: StageValues, widthPx = 664, properties: Partial<ResponseCurve> = {}): Promise<ResponseCurve> {
  const { element } = await mount<ResponseCurve>('response-curve', { curve: equaliser.curve!(values, 384_000), name: 'equaliser', ...properties }, { widthPx });
  await settle(element);
  return element;
}

const all = <T extends Element>(root: { shadowRoot: ShadowRoot | null }, selector: string) => [...everyElement(root.shadowRoot!)].filter((each) => each.matches(selector)) as T[];
const wordsIn = (element: ResponseCurve) => all<SVGTextElement>(element, 'text[data-of^="label"]').map(({ textContent }) => textContent);

/** Where a frequency stands on the page. */
function xOf(element: ResponseCurve, hz: number): number {
  const { left, right } = find<PlotArea>(element, 'plot-area').scene!.panels[0]!;
  return find(element, 'svg').getBoundingClientRect().left + left + ((right - left) * Math.log(hz / 20)) / Math.log(1000);
}

describe('a response curve', () => {
  it('draws the sum bold and the sections thin, on axes with units, labelled where they run', async () => {
    const element = await curveOf(shelved);
    expect(all(element, 'path[data-of]').filter((each) => /^\d /.test(each.getAttribute('data-of')!)).map((each) => [each.getAttribute('data-of'), getComputedStyle(each).strokeWidth]))
      .toEqual([['2 2 high shelf', '1px'], ['1 1 bell', '1px'], ['0 sum', '2px']]);
    const axis = all(element, 'text[data-of$="figures"], text[data-of$="title"]').map(({ textContent }) => textContent);
    expect(axis).toEqual(expect.arrayContaining(['20 Hz', '1 kHz', '20 kHz', 'gain, dB', '0', '+6', '−6']));
    expect(wordsIn(element)).toEqual(expect.arrayContaining(['sum', '1 bell', '2 high shelf']));
  });

  it('marks where it is steepest, over what it is steep, its undershoot and a bell’s width, with their words', async () => {
    const element = await curveOf(shelved);
    expect(new Set(all(element, '[data-mark]').map((each) => each.getAttribute('data-mark')))).toEqual(new Set(['bandwidth', 'steepest', 'steep-span', 'undershoot', 'turnover']));
    const words = wordsIn(element).join(' | ');
    for (const said of ['4.6 dB/octave', 'at least 3 dB/octave over 0.95 octaves', 'foot -0.31 dB', 'Q 4, 0.36 octaves']) expect(words).toContain(said);
    // The triangle at the foot stands where the reading says.
    const foot = equaliser.curve!(shelved, 384_000).marks.find(({ kind }) => kind === 'undershoot')!;
    const triangle = find(element, '[data-mark="undershoot"]').getBoundingClientRect();
    const x = xOf(element, foot.fromHz);
    expect(Math.abs(triangle.left + triangle.width / 2 - x)).toBeLessThan(1.5);
  });

  it('keeps its words on the plot and clear of one another, at any width and with all six sections', async () => {
    const busy: StageValues = { ...shelved, ...Object.fromEntries([3, 4, 5, 6].flatMap((n) => [[`section${n}Kind`, n % 2 ? 'bell' : 'low-shelf'], [`section${n}Db`, n - 8]])) };
    for (const widthPx of [320, 664, 1000]) {
      const element = await curveOf(busy, widthPx);
      const plot = find(element, 'svg').getBoundingClientRect();
      const boxes = all(element, 'text[data-of^="label"]').map((each) => each.getBoundingClientRect());
      expect(boxes.length).toBeGreaterThan(3);
      boxes.forEach((box, k) => {
        expect(box.left >= plot.left && box.right <= plot.right && box.top >= plot.top - 1 && box.bottom <= plot.bottom).toBe(true);
        for (const other of boxes.slice(k + 1)) expect(box.left < other.right && other.left < box.right && box.top < other.bottom && other.top < box.bottom, `${widthPx}: ${k}`).toBe(false);
      });
    }
  });

  it('says in words only the read-outs of the chosen section', async () => {
    const words = wordsIn(await curveOf(shelved, 664, { section: 1 })).join(' | ');
    expect(words).toContain('Q 4');
    expect(words).not.toContain('foot');
  });

  it('reads the curve at a cursor moved by keys, as a slider with its value in words', async () => {
    const element = await curveOf(defaultValues(equaliser));
    const cursor = find(element, '[role="slider"]');
    cursor.focus();
    await userEvent.keyboard('{ArrowRight}{PageDown}');
    await settle(element);
    expect(cursor.getAttribute('aria-valuetext')).toMatch(/^530 Hz: sum \+0\.0\d dB, 1 bell \+0\.0\d dB, 2 high shelf −0\.0\d dB$/);
    await userEvent.keyboard('{End}');
    await settle(element);
    expect(cursor.getAttribute('aria-valuenow')).toBe('20000');
    expect(find(element, '.read').textContent).toContain('20 kHz: sum +3.0');
    expect(all(element, '.cursor-line')).toHaveLength(1);
    // Without it the sentence.
    expect(find(await curveOf(defaultValues(equaliser)), 'figcaption').textContent).toContain('Analogue curve kept within');
  });

  it('sweeps instead, where a bell is searched with: keys are steps, a drag begins, moves and ends', async () => {
    const element = await curveOf(defaultValues(equaliser), 664, { sweptHz: 1000 });
    const sent: SweepDetail[] = [];
    element.addEventListener('curve-swept', (event) => sent.push((event as CustomEvent<SweepDetail>).detail));
    const cursor = find(element, '[role="slider"]');
    expect(cursor.getAttribute('aria-label')).toBe('centre of the searching bell');
    cursor.focus();
    await userEvent.keyboard('{ArrowRight}{Shift>}{ArrowLeft}{/Shift}{PageUp}{Home}');
    expect(sent).toEqual([{ hz: 1059, phase: 'step' }, { hz: 985.7, phase: 'step' }, { hz: 2000, phase: 'step' }, { hz: 20, phase: 'step' }]);
    const { top } = find(element, 'svg').getBoundingClientRect();
    const at = (hz: number): PointerEventInit => ({ clientX: xOf(element, hz), clientY: top + 80, pointerId: 1, bubbles: true, button: 0 });
    cursor.setPointerCapture = () => undefined;
    sent.length = 0;
    for (const [type, hz] of [['pointerdown', 500], ['pointermove', 800], ['pointerup', 900], ['pointermove', 2000]] as const) cursor.dispatchEvent(new PointerEvent(type, at(hz)));
    expect(sent.map(({ phase }) => phase)).toEqual(['begin', 'move', 'end']);
    [500, 800, 900].forEach((hz, k) => expect(Math.abs(sent[k]!.hz / hz - 1)).toBeLessThan(2e-3));
  });

  it('has the same as a table: read-outs, and every line by third octaves', async () => {
    const element = await curveOf(shelved);
    await userEvent.click(find(element, 'summary'));
    const [readOuts, levels] = all<HTMLTableElement>(element, 'table');
    expect(readOuts!.tBodies[0]!.rows).toHaveLength(equaliser.curve!(shelved, 384_000).marks.length);
    expect(levels!.tBodies[0]!.rows).toHaveLength(31);
    const at2k = [...levels!.tBodies[0]!.rows].find((row) => row.cells[0]!.textContent === '2 kHz')!;
    expect(at2k.cells[2]!.textContent).toBe('+2.00');
    expect(find(element, 'figcaption').textContent).toContain('2 high shelf +6 dB at 6 kHz. Analogue curve kept within');
  });

  it('draws the spectrum behind, with an axis of its own', async () => {
    const element = await curveOf(shelved, 664, { spectrum: noiseSpectrum() });
    // In the table beside the lines: 1 kHz holds a third octave of noise of −17 dB in 24 kHz.
    const cells = [...all<HTMLTableElement>(element, 'table')[1]!.tBodies[0]!.rows].map((row) => [row.cells[0]!.textContent, Number(row.cells[4]!.textContent!.replace('−', '-'))]);
    expect(Math.abs((cells.find(([hz]) => hz === '1 kHz')![1] as number) + 37.2)).toBeLessThan(1.5);
    expect(all(element, '.fine, .thirds').map((each) => each.getAttribute('class'))).toEqual(['fine', 'thirds']);
    // White noise rises 1 dB a third octave: the line of thirds ends higher than it begins.
    const points = find(element, '.thirds').getAttribute('points')!.split(' ').map((point) => Number(point.split(',')[1]));
    expect(points.at(-1)!).toBeLessThan(points[10]! - 40);
    expect(all(element, 'text[data-of^="right"]').map(({ textContent }) => textContent)).toEqual(expect.arrayContaining(['loop, dB re full-scale sine', '−20', '−40', '−60']));
  });
});

/** The sheet with a real bench behind it. */
async function equaliserSheet(widthPx = 664, live: Parameters<typeof benchState>[0] = {}): Promise<Mounted<StageSheet> & { readonly bench: Bench }> {
  const bench = new Bench(benchState({ stages: ['equaliser', 'push-pull'], ...live }), { nowMs: () => performance.now(), today: () => '2026-11-25' });
  const mounted = await mount<StageSheet>('stage-sheet', { state: bench.state, shape: 'wide', low: false }, {
    widthPx, follow: (action, sheet) => { bench.dispatch(action); sheet.state = bench.state; },
  });
  await settle(mounted.element);
  return { ...mounted, bench };
}

const button = (root: StageSheet, text: string) => all<HTMLButtonElement>(root, 'button').find((each) => each.textContent.trim() === text)!;
const valueOf = (bench: Bench, id: string) => bench.state.setting.path.stages[0]!.values[id];

describe('the equaliser’s sheet', () => {
  it('shows its curve and only the values that do something', async () => {
    const { element, bench } = await equaliserSheet();
    const shown = () => all(element, 'value-editor').map((each) => (each as HTMLElement).dataset['parameter']);
    expect(shown()).toEqual(equaliser.relevant!(bench.state.setting.path.stages[0]!.values));
    expect(all(element, 'response-curve')).toHaveLength(1);
    const kind = all<HTMLElement>(element, 'value-editor').find((each) => each.dataset['parameter'] === 'section4Kind')!;
    await userEvent.selectOptions(find<HTMLSelectElement>(kind, 'select'), 'bell');
    await settle(element);
    expect(shown()).toContain('section4Quality');
    // The section that was touched is the one whose read-outs are in words.
    expect(find<ResponseCurve>(element, 'response-curve').section).toBe(4);
    all<HTMLElement>(element, 'value-editor').find((each) => each.dataset['parameter'] === 'section2Db')!.focus();
    await settle(element);
    expect(find<ResponseCurve>(element, 'response-curve').section).toBe(2);
  });

  it('searches: holds up, sweeps on the curve by keys, turns down; one undo takes it all back', async () => {
    const { element, bench } = await equaliserSheet();
    await userEvent.selectOptions(find<HTMLSelectElement>(element, 'select[aria-label="section to search with"]'), '3');
    await userEvent.click(button(element, 'Hold a bell up'));
    await settle(element);
    expect(['Kind', 'Db', 'Quality'].map((part) => valueOf(bench, `section3${part}`))).toEqual(['bell', 12, 8]);
    expect(find(element, '.now').textContent).toBe('Searching with section 3, 100 Hz');
    const cursor = find(element, '[role="slider"]');
    expect(cursor.matches(':focus')).toBe(true);
    await userEvent.keyboard('{PageUp}{PageUp}{PageUp}{ArrowRight}');
    await settle(element);
    expect(valueOf(bench, 'section3Hz')).toBe(847.6);
    const amount = find<HTMLInputElement>(element, 'input[type="number"]');
    await userEvent.fill(amount, '4.5');
    await userEvent.click(button(element, 'Turn down'));
    await settle(element);
    expect([valueOf(bench, 'section3Db'), bench.state.live.search]).toEqual([4.5, null]);
    bench.dispatch({ kind: 'undo' });
    expect([valueOf(bench, 'section3Kind'), valueOf(bench, 'section3Hz'), bench.state.live.canUndo]).toEqual(['off', 100, false]);
  });

  it('leaves a search by its button and by Escape, which goes on to silence', async () => {
    for (const leave of [async (sheet: StageSheet) => { await userEvent.click(button(sheet, 'Leave it as it was')); }, async () => { await userEvent.keyboard('{Escape}'); }]) {
      const { element, bench } = await equaliserSheet();
      let heard = 0;
      const count = (event: KeyboardEvent): void => { if (event.key === 'Escape') heard += 1; };
      document.addEventListener('keydown', count);
      await userEvent.click(button(element, 'Hold a bell up'));
      await settle(element);
      await leave(element);
      document.removeEventListener('keydown', count);
      expect([bench.state.live.search, valueOf(bench, 'section1Db'), bench.state.live.canUndo]).toEqual([null, 2, false]);
      expect(heard).toBe(leave.length === 0 ? 1 : 0);
    }
  });

  it('tells which partials of a note fall inside the bell, and shows them on the curve', async () => {
    const { element } = await equaliserSheet();
    const note = find<HTMLInputElement>(element, 'input[aria-label="note by name or frequency"]');
    const words = () => all(element, '[role="status"]').map(({ textContent }) => textContent).join('');
    await userEvent.fill(note, 'D4');
    await userEvent.tab();
    await settle(element);
    // 2 kHz, Q 4: 1765 to 2266 Hz; 293.66 Hz times 7.
    expect(words()).toContain('of D4 (294 Hz) partial 7 inside bell 1 (1.77 kHz to 2.27 kHz, +1.00 dB or more)');
    expect(all(element, '.partial.within')).toHaveLength(1);
    await userEvent.fill(note, '100');
    await userEvent.tab();
    await settle(element);
    expect(words()).toContain('partials 18, 19, 20, 21, 22 inside bell 1');
    await userEvent.fill(note, 'H9');
    await userEvent.tab();
    await settle(element);
    expect(words()).toContain('"H9" is no note');
  });

  it('keeps no bell held up for the next visit', async () => {
    const { bench } = await equaliserSheet();
    localStorage.removeItem(autosaveKey);
    const stop = keepSaving(bench);
    const kept = () => localStorage.getItem(autosaveKey) ?? '';
    bench.dispatch({ kind: 'set-value', stageKey: 's1', parameter: 'section2Db', value: 5.5, phase: 'end' });
    await vi.waitFor(() => expect(kept()).toContain('5.5'));
    bench.dispatch({ kind: 'search', stageKey: 's1', section: 1 });
    await new Promise((done) => setTimeout(done, 2 * saveAfterMs));
    window.dispatchEvent(new Event('pagehide'));
    expect(kept()).toMatch(/section1Db\W+2\b/);
    expect(kept()).not.toMatch(/section1Db\W+12\b/);
    bench.dispatch({ kind: 'turn-down', amountDb: 2.5 });
    await vi.waitFor(() => expect(kept()).toContain('2.5'));
    stop();
    localStorage.removeItem(autosaveKey);
  });

  it('has nothing axe objects to, wide and narrow, at rest and searching, and scrolls nowhere sideways', async () => {
    for (const widthPx of [320, 664]) {
      const { element } = await equaliserSheet(widthPx, { live: { spectrum: noiseSpectrum() } });
      await userEvent.click(button(element, 'Hold a bell up'));
      await settle(element);
      const { violations } = await axe.run(element, { rules: { region: { enabled: false } } });
      expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html).join(' ')}`)).toEqual([]);
      expect(element.scrollWidth).toBeLessThanOrEqual(widthPx);
    }
  });
});
