import { describe, expect, it } from 'vitest';
import { userEvent } from 'vitest/browser';
import type { CircuitDrawing } from '../../../ui/page/elements/circuit-drawing.ts';
import type { StageSheet } from '../../../ui/page/elements/stage-sheet.ts';
import { drawnParameters } from '../../../ui/page/elements/stage-sheet.ts';
import type { ValueEditor } from '../../../ui/page/elements/value-editor.ts';
import type { ValueSlip } from '../../../ui/page/elements/value-slip.ts';
import { defaultValues, stageById, stages } from '../../../dsp/stages/index.ts';
import { replaceStage } from '../../../ui/page/changes.ts';
import type { Action } from '../../../ui/page/state.ts';
import { benchState } from './bench-state.ts';
import type { Wanted } from './bench-state.ts';
import { everyElement, find, mount, settle } from './stage.ts';
import type { Mounted } from './stage.ts';

function follow(action: Action, sheet: StageSheet): void {
  const { state } = sheet;
  const { path } = state.setting;
  if (action.kind === 'parts-list') sheet.state = { ...state, session: { ...state.session, partsListChosen: action.chosen } };
  if (action.kind !== 'set-value') return;
  const values = { ...path.stages[0]!.values, [action.parameter]: action.value };
  sheet.state = { ...state, setting: { ...state.setting, path: replaceStage(path, 's1', { values }) }, live: { ...state.live, revision: state.live.revision + 1 } };
}

async function sheet(widthPx: number, wanted: Wanted = {}): Promise<Mounted<StageSheet>> {
  const bench = await mount<StageSheet>('stage-sheet', { state: benchState({ stages: ['single-ended-bipolar'], ...wanted }), shape: 'wide', low: false }, { widthPx, follow });
  await settle(bench.element);
  return bench;
}

const all = <T extends Element>(bench: Mounted<StageSheet>, selector: string) => [...everyElement(bench.element.shadowRoot!)].filter((each) => each.matches(selector)) as T[];
const editors = (bench: Mounted<StageSheet>) => all<ValueEditor>(bench, 'value-editor').map(({ parameter }) => parameter.id);

describe('the stage sheet', () => {
  it.each(stages.map(({ id }) => [id]))('shows every value of %s exactly once, wide and narrow', async (id) => {
    // A list shows the values that do something; a drawing its own and those of the others that do something, but none of parts that a choice leaves unwired.
    const whole = stageById(id).parameters.map((parameter) => parameter.id);
    const definition = stageById(id);
    const values = defaultValues(definition);
    const shown = definition.relevant?.(values) ?? whole;
    const ways = definition.drawingFor ? definition.parameters.flatMap((parameter) => (parameter.kind === 'choice' ? parameter.options.map((option) => definition.drawingFor!({ ...values, [parameter.id]: option.id })) : [])) : [];
    const drawnNow = drawnParameters({ drawing: definition.drawingFor?.(values) ?? definition.drawing });
    const unwired = new Set(ways.flatMap((drawing) => [...drawnParameters({ drawing })]).filter((parameter) => !drawnNow.has(parameter)));
    expect(editors(await sheet(664, { stages: [id] })).sort()).toEqual((definition.drawing === null ? shown : whole.filter((parameter) => !unwired.has(parameter) && (drawnNow.has(parameter) || shown.includes(parameter)))).toSorted());
    const narrow = await sheet(358, { stages: [id] });
    expect(editors(narrow)).toEqual(shown);
    expect(narrow.element.scrollWidth).toBeLessThanOrEqual(358);
  });

  it('takes the figures off the drawing where there is no room, and at the wish of the reader', async () => {
    const wide = await sheet(664);
    expect([all(wide, 'parts-list').length, find<CircuitDrawing>(wide.element, 'circuit-drawing').figures]).toEqual([0, true]);
    await userEvent.click(all<HTMLButtonElement>(wide, 'button').find((each) => each.textContent === 'Parts list')!);
    await settle(wide.element);
    expect(wide.actions).toEqual([{ kind: 'parts-list', chosen: true }]);
    expect([all(wide, 'parts-list').length, find<CircuitDrawing>(wide.element, 'circuit-drawing').figures]).toEqual([1, false]);
    const narrow = await sheet(358);
    expect(all(narrow, 'parts-list')).toHaveLength(1);
    expect(find(narrow.element, 'svg[role="img"]').getBoundingClientRect().width).toBe(358);
    for (const row of all(narrow, 'parts-list li').concat(all(narrow, 'li'))) expect(row.getBoundingClientRect().height).toBeGreaterThanOrEqual(44);
  });

  it('moves to the row of a part that is touched on the bare drawing', async () => {
    const bench = await sheet(358);
    const drawing = stageById('single-ended-bipolar').drawing!;
    const index = drawing.placements.filter(({ parameter }) => parameter !== undefined).findIndex(({ component }) => component === 'RE1');
    all<SVGElement>(bench, '.touch')[index]!.dispatchEvent(new MouseEvent('click', { bubbles: true, composed: true }));
    await settle(bench.element);
    expect(find(bench.element, 'li.touched').querySelector('.designator')!.textContent).toBe('RE1');
    expect(find(bench.element, 'li.touched').querySelector('value-editor')!.shadowRoot!.activeElement).not.toBeNull();
  });

  it('finds a value by name for the keyboard, on the drawing, beside it and in the list', async () => {
    for (const widthPx of [664, 358]) {
      const bench = await sheet(widthPx);
      for (const parameter of ['emitterOhms', 'driveDb']) {
        expect(bench.element.focusValue(parameter)).toBe(true);
        const editor = all<ValueEditor>(bench, 'value-editor').find((each) => each.parameter.id === parameter)!;
        expect(editor.shadowRoot!.activeElement).not.toBeNull();
      }
      expect(bench.element.focusValue('nothing')).toBe(false);
    }
  });

  it('switches the stage and its polarity', async () => {
    const bench = await sheet(664);
    const [inOut, polarity] = all<HTMLButtonElement>(bench, '.heading button');
    expect([inOut!.textContent, inOut!.getAttribute('aria-checked'), polarity!.textContent]).toEqual(['in circuit', 'true', 'polarity inverts']);
    await userEvent.click(inOut!);
    await userEvent.click(polarity!);
    expect(bench.actions).toEqual([{ kind: 'stage-in-out', stageKey: 's1', inCircuit: false }, { kind: 'reverse-polarity', stageKey: 's1' }]);
  });

  it('chooses the series of preferred values where components have one', async () => {
    const bench = await sheet(664);
    const chooser = all<HTMLSelectElement>(bench, '.heading select');
    expect([chooser[0]!.value, [...chooser[0]!.options].map(({ value }) => value)]).toEqual(['E24', ['E12', 'E24', 'E96']]);
    await userEvent.selectOptions(chooser[0]!, 'E96');
    expect(bench.actions).toEqual([{ kind: 'series', series: 'E96' }]);
    expect(all(await sheet(664, { stages: ['harmonic-shaping'] }), '.heading select')).toHaveLength(0);
  });

  it('circles a faulty node and says what is the matter', async () => {
    const bench = await sheet(664, { live: { fault: { stageKey: 's1', sentence: 'Node collector has no path to ground.', at: 'collector' } } });
    expect(find(bench.element, '[role="alert"]').textContent).toContain('Node collector has no path to ground.');
    // The collector's wire runs from the load resistor's foot at (38, 14) to the coupling capacitor.
    const circle = find<SVGCircleElement>(bench.element, '.fault-mark');
    expect(Number(circle.getAttribute('cx')) >= 38 * 8 && Number(circle.getAttribute('cx')) <= 52 * 8).toBe(true);
    expect(Number(circle.getAttribute('cy')) >= 14 * 8 && Number(circle.getAttribute('cy')) <= 19 * 8).toBe(true);
  });

  it('writes computed node voltages with three digits', async () => {
    const bench = await sheet(664, { live: { reports: { s1: { readings: [], remarks: [], nodeVolts: { collector: 14.234, base: 3.3081, emitter: -1e-9 }, clipOutputDbu: null } } } });
    expect(all(bench, '.reading').map((each) => each.textContent)).toEqual(['3.31 V', '14.2 V', '0 V']);
  });

  it('lets only the value that was changed lag', async () => {
    const bench = await sheet(664, { live: { playing: true, revision: 1, soundingRevision: 1 } });
    bench.element.focusValue('emitterOhms');
    await userEvent.keyboard('{ArrowUp}');
    await new Promise((done) => setTimeout(done, 150));
    await settle(bench.element);
    expect(all<ValueEditor>(bench, 'value-editor').filter((each) => each.shadowRoot!.querySelector('.lag')).map(({ parameter }) => parameter.id)).toEqual(['emitterOhms']);
  });
});

describe('the slip', () => {
  async function opened(widthPx: number): Promise<{ bench: Mounted<StageSheet>; slip: ValueSlip }> {
    const bench = await sheet(widthPx);
    Element.prototype.setPointerCapture = () => undefined;
    const editor = all<ValueEditor>(bench, 'value-editor').find(({ parameter }) => parameter.id === 'collectorOhms')!;
    for (const type of ['pointerdown', 'pointerup']) {
      editor.renderRoot.querySelector('.value')!.dispatchEvent(new PointerEvent(type, { pointerId: 3, isPrimary: true, button: 0, pointerType: 'touch', bubbles: true, composed: true }));
    }
    await settle(bench.element);
    await settle(bench.element);
    return { bench, slip: find<ValueSlip>(bench.element, 'value-slip') };
  }
  const press = (slip: ValueSlip, words: string) => userEvent.click([...slip.renderRoot.querySelectorAll('button')].find((each) => each.textContent!.trim() === words)!);

  it.each([664, 358])('opens in the flow at %d px: under the drawing or in its row, over nothing', async (widthPx) => {
    const { bench, slip } = await opened(widthPx);
    expect(getComputedStyle(slip).position).toBe('static');
    expect(slip.getBoundingClientRect().right).toBeLessThanOrEqual(bench.element.getBoundingClientRect().right);
    if (widthPx < 640) expect((slip.getRootNode() as ShadowRoot).host.localName).toBe('parts-list');
    for (const each of slip.renderRoot.querySelectorAll('button, input')) {
      const { width, height } = each.getBoundingClientRect();
      expect(width >= 44 && height >= 44, `${each.textContent} ${width} × ${height}`).toBe(true);
    }
  });

  it('steps by − and +, restores the default, and reads what is typed with a prefix', async () => {
    const { bench, slip } = await opened(358);
    const value = () => bench.element.state.setting.path.stages[0]!.values['collectorOhms'];
    await press(slip, '+');
    expect(value()).toBe(2400);
    await settle(bench.element);
    await press(slip, '−');
    expect(value()).toBe(2200);
    await settle(bench.element);
    await userEvent.fill(slip.renderRoot.querySelector('input')!, '3.3');
    await settle(bench.element);
    expect(slip.renderRoot.querySelector('#echo')!.textContent).toBe('= 3.3 kΩ');
    await press(slip, 'kΩ');
    expect(value()).toBe(3300);
    await settle(bench.element);
    await press(slip, 'default 2.2 kΩ');
    expect(value()).toBe(2200);
  });

  it('closes at Done and gives the focus back to the value', async () => {
    const { bench, slip } = await opened(358);
    await press(slip, 'Done');
    await settle(bench.element);
    expect(all(bench, 'value-slip')).toHaveLength(0);
    const editor = all<ValueEditor>(bench, 'value-editor').find(({ parameter }) => parameter.id === 'collectorOhms')!;
    expect(editor.shadowRoot!.activeElement).not.toBeNull();
  });
});
