import { beforeEach, describe, expect, it } from 'vitest';
import { userEvent } from 'vitest/browser';
import type { ChoiceParameter, NumberParameter } from '../../../dsp/stages/index.ts';
import type { ValueEditor } from '../../../ui/page/elements/value-editor.ts';
import '../../../ui/page/elements/value-editor.ts';
import type { Action } from '../../../ui/page/state.ts';
import type { Mounted } from './stage.ts';
import { find, mount, settle } from './stage.ts';

const collector: NumberParameter = {
  kind: 'number', id: 'collectorOhms', designator: 'RC', label: 'collector load', shortLabel: 'collector', spokenLabel: 'R C, collector load', help: 'Gain rises with it.',
  quantity: 'resistance', unit: 'Ω', minimum: 100, maximum: 1e5, default: 3900, taper: 'logarithmic', step: 39,
};
const drive: NumberParameter = {
  kind: 'number', id: 'levelDbu', label: 'reference', shortLabel: 'reference', spokenLabel: 'reference', help: '', quantity: 'level', unit: 'dBu', minimum: -20, maximum: 20,
  default: 4, taper: 'decibel', step: 0.5,
};
const law: ChoiceParameter = {
  kind: 'choice', id: 'law', label: 'law', shortLabel: 'law', spokenLabel: 'law', help: '', default: 'held', options: [{ id: 'polynomial', label: 'polynomial' }, { id: 'held', label: 'held' }],
};

/** Takes values and refusals over, as the bench does. */
function follow(action: Action, editor: ValueEditor): void {
  if (action.kind === 'set-value') {
    editor.value = action.value;
    editor.refusal = null;
  }
  if (action.kind === 'refuse-value') editor.refusal = action.sentence;
}

let bench: Mounted<ValueEditor>;
const spin = () => find(bench.element, '[role="spinbutton"]');
const field = () => find<HTMLInputElement>(bench.element, 'input');
const sets = () => bench.actions.flatMap((action) => (action.kind === 'set-value' ? [[action.phase, action.value]] : []));
const under = () => bench.element.renderRoot.querySelector('.under')?.textContent ?? '';

async function open(parameter: NumberParameter | ChoiceParameter = collector, value: number | string = 4700): Promise<void> {
  bench = await mount<ValueEditor>('value-editor', { stageKey: 's1', parameter, value }, { follow });
  Element.prototype.setPointerCapture = () => undefined;
}

async function keys(text: string): Promise<void> {
  await userEvent.keyboard(text);
  await settle(bench.element);
}

function pointer(type: string, clientX: number, clientY: number, more: PointerEventInit = {}): PointerEvent {
  const event = new PointerEvent(type, { pointerId: 7, isPrimary: true, button: 0, pointerType: 'mouse', clientX, clientY, bubbles: true, composed: true, cancelable: true, ...more });
  spin().dispatchEvent(event);
  return event;
}

beforeEach(() => open());

describe('the spin button', () => {
  it('says its name, limits and value in words', async () => {
    const said = Object.fromEntries(['role', 'aria-label', 'aria-valuenow', 'aria-valuemin', 'aria-valuemax', 'aria-valuetext'].map((name) => [name, spin().getAttribute(name)]));
    expect(said).toEqual({
      role: 'spinbutton', 'aria-label': 'RC, collector load', 'aria-valuenow': '4700', 'aria-valuemin': '100', 'aria-valuemax': '100000',
      'aria-valuetext': '4.7 kilohm, changed, default 3.9 kilohm',
    });
    expect(bench.element.hasAttribute('changed')).toBe(true);
    expect(getComputedStyle(bench.element, '::before').width).toBe('2px');
    bench.element.value = 3900;
    await settle(bench.element);
    expect(spin().getAttribute('aria-valuetext')).toBe('3.9 kilohm');
    expect(bench.element.hasAttribute('changed')).toBe(false);
  });

  it.each([
    ['{ArrowUp}', 'step', 5100], ['{ArrowRight}', 'step', 5100], ['{ArrowDown}', 'step', 4300], ['{ArrowLeft}', 'step', 4300], ['{Shift>}{ArrowUp}{/Shift}', 'step', 4747],
    ['{PageUp}', 'step', 47000], ['{PageDown}', 'step', 470], ['{Home}', 'step', 100], ['{End}', 'step', 100000], ['{Backspace}', 'end', 3900], ['{Delete}', 'end', 3900],
  ])('%s sends %s %d', async (stroke, phase, value) => {
    bench.element.focus();
    await keys(stroke);
    expect(sets()).toEqual([[phase, value]]);
  });

  it('lets the keys of the bench pass', async () => {
    const heard: string[] = [];
    const listen = (event: KeyboardEvent) => heard.push(event.key);
    document.addEventListener('keydown', listen);
    bench.element.focus();
    await keys('c {Escape}{ArrowUp}');
    document.removeEventListener('keydown', listen);
    expect(heard).toEqual(['c', ' ', 'Escape']);
  });

  it('leaves the wheel to the page', () => {
    const wheel = new WheelEvent('wheel', { deltaY: -100, bubbles: true, cancelable: true });
    spin().dispatchEvent(wheel);
    expect(wheel.defaultPrevented).toBe(false);
    expect(sets()).toEqual([]);
  });

  it('says the kin of a level while it has the focus', async () => {
    await open(drive, 4);
    expect(under()).toBe('');
    bench.element.focus();
    await settle(bench.element);
    expect(under()).toBe('+4 dBu = 1.228 V rms = 1.736 V pk = −20 dBFS at +24');
  });

  it('stands "…" after a value whose sound lags by over 100 ms, not sooner', async () => {
    bench.element.sounding = false;
    await settle(bench.element);
    expect(bench.element.renderRoot.querySelector('.lag')).toBeNull();
    await new Promise((done) => setTimeout(done, 130));
    await settle(bench.element);
    expect(bench.element.renderRoot.querySelector('.lag')!.textContent).toBe('…');
    bench.element.sounding = true;
    await settle(bench.element);
    expect(bench.element.renderRoot.querySelector('.lag')).toBeNull();
  });
});

describe('typing', () => {
  it('begins with a digit, echoes, dims the unit at a letter, and takes the value on Enter alone', async () => {
    bench.element.focus();
    await keys('5');
    expect(field().value).toBe('5');
    expect(under()).toBe('= 5 kΩ');
    expect(find(bench.element, '.unit').textContent).toBe('kΩ');
    expect(find(bench.element, '.unit').classList.contains('dim')).toBe(false);
    await keys('k6');
    expect(under()).toBe('= 5.6 kΩ');
    expect(find(bench.element, '.unit').classList.contains('dim')).toBe(true);
    expect(sets()).toEqual([]);
    await keys('{Enter}');
    expect(sets()).toEqual([['end', 5600]]);
    expect(bench.element.shadowRoot!.activeElement).toBe(spin());
  });

  it('opens on Enter with the number selected, and an untouched number keeps its exact value', async () => {
    await open(collector, 4747.3);
    bench.element.focus();
    await keys('{Enter}');
    expect([field().value, field().selectionStart, field().selectionEnd]).toEqual(['4.747', 0, 5]);
    await keys('{Enter}');
    expect(sets()).toEqual([['end', 4747.3]]);
  });

  it('takes the value on leaving', async () => {
    const after = document.createElement('button');
    document.body.append(after);
    bench.element.focus();
    await keys('820');
    expect(under()).toBe('= 820 kΩ');
    await keys('{Tab}');
    expect(bench.actions.map(({ kind }) => kind)).toEqual(['refuse-value', 'leave-value']);
    expect(under()).toBe('RC: 820 kΩ is above 100 kΩ. Did you mean 820 Ω?');
    bench.element.focus();
    await keys('8k2{Tab}');
    expect(sets()).toEqual([['end', 8200]]);
  });

  it('keeps the old value at Escape', async () => {
    bench.element.focus();
    await keys('9{Escape}');
    expect(sets()).toEqual([]);
    expect(bench.element.shadowRoot!.activeElement).toBe(spin());
  });

  it('refuses what is no value, says so under the old one and in the tree', async () => {
    bench.element.focus();
    await keys('4x7{Enter}');
    expect(bench.actions[0]).toEqual({ kind: 'refuse-value', stageKey: 's1', parameter: 'collectorOhms', sentence: 'RC: "4x7" is not a number with a unit; write 4k7 or 4.7 kΩ. Kept 4.7 kΩ.' });
    expect(spin().textContent).toBe('4.7 kΩ');
    expect(spin().getAttribute('aria-invalid')).toBe('true');
    expect(find(bench.element, `#${spin().getAttribute('aria-errormessage')}`).textContent).toContain('is not a number');
  });
});

describe('opening and closing the field', () => {
  it('never draws the value twice over', async () => {
    const warnings = (globalThis as { litIssuedWarnings?: Set<string> }).litIssuedWarnings ?? new Set<string>();
    expect([...warnings].some((words) => words.includes('dev mode')), 'the library tells what it sees').toBe(true);
    bench.element.focus();
    await keys('{Enter}4k7{Enter}');
    await keys('4x7{Enter}');
    expect(bench.element.refusal).toContain('4x7');
    await keys('{Enter}{Escape}');
    expect(spin().matches(':focus')).toBe(true);
    expect([...warnings].filter((words) => words.includes('value-editor'))).toEqual([]);
  });
});

describe('dragging', () => {
  it('is 300 px for the whole range, right and up are more, and ends as one gesture', () => {
    pointer('pointerdown', 100, 100);
    pointer('pointermove', 102, 100);
    expect(sets()).toEqual([]);
    // Three decades over 300 px: 100 px are one, 4.7 kΩ to 47 kΩ.
    pointer('pointermove', 150, 100);
    pointer('pointermove', 150, 50);
    pointer('pointerup', 150, 50);
    expect(sets()[0]).toEqual(['begin', 4700]);
    expect(sets().slice(-2)).toEqual([['move', 47000], ['end', 47000]]);
    expect(bench.element.shadowRoot!.activeElement).toBe(spin());
  });

  it('goes a tenth of the way with Shift, without a jump when Shift is pressed or let go', () => {
    pointer('pointerdown', 0, 0);
    pointer('pointermove', 50, 0);
    const before = sets().at(-1)![1] as number;
    pointer('pointermove', 51, 0, { shiftKey: true });
    const fine = sets().at(-1)![1] as number;
    // 50 px of 300 over three decades, then a tenth of a pixel: free of the series, 1 % at most from where the drag stood.
    const stood = 4700 * 10 ** 0.5;
    expect(Math.abs(fine / (stood * 10 ** 0.001) - 1) <= 0.001, `${fine} against ${stood}`).toBe(true);
    pointer('pointermove', 51, 0);
    expect(sets().at(-1)![1]).toBe(before);
  });

  it('returns to the start at Escape and at a cancelled pointer', async () => {
    pointer('pointerdown', 0, 0);
    pointer('pointermove', 60, 0);
    await keys('{Escape}');
    expect(sets().at(-1)).toEqual(['cancel', 4700]);
    pointer('pointermove', 90, 0);
    expect(sets().at(-1)).toEqual(['cancel', 4700]);
    pointer('pointerdown', 0, 0);
    pointer('pointermove', 60, 0);
    pointer('pointercancel', 60, 0);
    expect(sets().at(-1)).toEqual(['cancel', 4700]);
  });

  it('restores the default at a double click', async () => {
    await userEvent.dblClick(spin());
    expect(sets()).toEqual([['end', 3900]]);
  });
});

describe('a finger', () => {
  const touch = { pointerType: 'touch' };

  it('asks for the slip at a tap, or types in place where nobody shows one', async () => {
    const wanted: string[] = [];
    const show = (event: Event) => {
      wanted.push((event as CustomEvent<{ parameter: string }>).detail.parameter);
      event.preventDefault();
    };
    document.addEventListener('value-slip-wanted', show);
    pointer('pointerdown', 10, 10, touch);
    pointer('pointerup', 12, 10, touch);
    document.removeEventListener('value-slip-wanted', show);
    await settle(bench.element);
    expect(wanted).toEqual(['collectorOhms']);
    expect(bench.element.renderRoot.querySelector('input')).toBeNull();
    pointer('pointerdown', 10, 10, touch);
    pointer('pointerup', 10, 10, touch);
    await settle(bench.element);
    expect(field().value).toBe('4.7');
  });

  it('does not restore the default by two quick taps', () => {
    for (const type of ['pointerdown', 'pointerup']) pointer(type, 10, 10, touch);
    spin().dispatchEvent(new MouseEvent('dblclick', { bubbles: true }));
    expect(sets()).toEqual([]);
  });

  it('changes sideways only: an upward movement is the page’s', () => {
    expect(getComputedStyle(spin()).touchAction).toBe('pan-y');
    pointer('pointerdown', 0, 100, touch);
    pointer('pointermove', 0, 20, touch);
    expect(sets()).toEqual([]);
    pointer('pointermove', 100, 20, touch);
    expect(sets().at(-1)).toEqual(['move', 47000]);
  });
});

describe('a choice', () => {
  it('is a native list in the look of a value', async () => {
    await open(law, 'polynomial');
    const select = find<HTMLSelectElement>(bench.element, 'select');
    expect([select.value, select.getAttribute('aria-label'), getComputedStyle(select).borderBottomStyle, getComputedStyle(select).fontWeight]).toEqual(['polynomial', 'law', 'dotted', '600']);
    await userEvent.selectOptions(select, 'held');
    expect(sets()).toEqual([['end', 'held']]);
  });
});
