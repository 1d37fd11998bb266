import { describe, expect, it } from 'vitest';
import { userEvent } from 'vitest/browser';
import { surroundings } from '../../../dsp/path/index.ts';
import { defaultValues } from '../../../dsp/stages/index.ts';
import { replaceStage } from '../../../ui/page/changes.ts';
import type { PathStrip } from '../../../ui/page/elements/path-strip.ts';
import '../../../ui/page/elements/path-strip.ts';
import type { Action, PageShape } from '../../../ui/page/state.ts';
import { benchState } from './bench-state.ts';
import { find, mount, settle } from './stage.ts';
import type { Mounted } from './stage.ts';

const three = ['single-ended-bipolar', 'push-pull', 'harmonic-shaping'];
const ten = Array.from({ length: 10 }, (_, index) => three[index % 3]!);

/** Plays the bench's part for order and in/out. */
function follow(action: Action, strip: PathStrip): void {
  const { setting, session } = strip.state;
  const stages = setting.path.stages.slice();
  if (action.kind === 'stage-in-out') {
    strip.state = { ...strip.state, setting: { ...setting, path: replaceStage(setting.path, action.stageKey, { inCircuit: action.inCircuit }) } };
  } else if (action.kind === 'move-stage') {
    stages.splice(action.toIndex, 0, ...stages.splice(stages.findIndex(({ key }) => key === action.stageKey), 1));
    strip.state = { ...strip.state, setting: { ...setting, path: { ...setting.path, stages } } };
  } else if (action.kind === 'remove-stage') {
    const left = stages.filter(({ key }) => key !== action.stageKey);
    strip.state = { ...strip.state, setting: { ...setting, path: { ...setting.path, stages: left } }, session: { ...session, openStageKey: left[0]!.key } };
  } else if (action.kind === 'open-stage') {
    strip.state = { ...strip.state, session: { ...session, openStageKey: action.stageKey } };
  }
}

async function strip(stages: readonly string[], shape: PageShape, widthPx: number, live = {}): Promise<Mounted<PathStrip>> {
  return mount<PathStrip>('path-strip', { state: benchState({ stages, live }), shape, low: false }, { follow, widthPx });
}

const root = ({ element }: Mounted<PathStrip>) => element.shadowRoot!;
const focused = (bench: Mounted<PathStrip>) => root(bench).activeElement as HTMLElement | null;
const tabStops = (bench: Mounted<PathStrip>) => [...root(bench).querySelectorAll('ol [tabindex="0"]')];

async function keys(bench: Mounted<PathStrip>, text: string): Promise<void> {
  await userEvent.keyboard(text);
  await settle(bench.element);
}

describe('the path strip', () => {
  it('gives each stage two buttons and the whole path one tab stop', async () => {
    const bench = await strip(three, 'wide', 1232);
    expect([...root(bench).querySelectorAll('li')].map((item) => item.querySelectorAll('button').length)).toEqual([2, 2, 2]);
    expect(tabStops(bench)).toHaveLength(1);
    expect([...root(bench).querySelectorAll('[role="switch"]')].map((each) => each.getAttribute('aria-checked'))).toEqual(['true', 'true', 'true']);
    expect(root(bench).querySelector('[aria-current="true"] .title')!.textContent).toBe('1 single-ended');
  });

  it('says in or out with the level at the joint, and leads the wire beneath a stage that is out', async () => {
    const bench = await strip(three, 'wide', 1232, { jointLevelsDbu: { s1: 4.12, s2: -3, s3: -Infinity } });
    const words = () => [...root(bench).querySelectorAll('.switch')].map((each) => each.textContent);
    expect(words()).toEqual(['in · +4.1 dBu', 'in · −3.0 dBu', 'in · silent']);
    await userEvent.click(root(bench).querySelectorAll('.switch')[1]!);
    await settle(bench.element);
    expect(bench.actions).toEqual([{ kind: 'stage-in-out', stageKey: 's2', inCircuit: false }]);
    expect(words()[1]).toBe('out · −3.0 dBu');
    const sign = root(bench).querySelectorAll('stage-sign')[1]!.shadowRoot!;
    const [frame, wire] = [sign.querySelector('.frame')!.getBoundingClientRect(), sign.querySelector<SVGGeometryElement>('.wire')!];
    expect(getComputedStyle(sign.querySelector('.frame')!).strokeDasharray).not.toBe('none');
    expect(wire.getBoundingClientRect().bottom).toBeGreaterThan(frame.bottom);
    const through = root(bench).querySelectorAll('stage-sign')[0]!.shadowRoot!;
    expect(through.querySelector('.wire')!.getBoundingClientRect().bottom).toBeLessThan(frame.bottom);
  });

  it('ends the wire in terminals, writes a level near zero without a minus, and says when the whole path is out', async () => {
    const bench = await strip(three, 'wide', 1232, { jointLevelsDbu: { s1: -0.04, s2: -0.05, s3: 0 } });
    expect([...root(bench).querySelectorAll('.switch')].map((each) => each.textContent)).toEqual(['in · +0.0 dBu', 'in · −0.1 dBu', 'in · +0.0 dBu']);
    expect([getComputedStyle(root(bench).querySelector('.source')!, '::after').display, getComputedStyle(root(bench).querySelector('.load')!, '::before').display]).toEqual(['block', 'block']);
    expect(root(bench).querySelector('.source')!.textContent).not.toContain('out of circuit');
    const out = await strip(three, 'wide', 1232, { trialIn: false });
    expect(root(out).querySelector('.source')!.textContent).toContain('out of circuit');
  });

  it('opens the surroundings at both ends and the supply beside them, and says their impedances when they are on', async () => {
    const bench = await strip(three, 'wide', 1232);
    const ends = () => [...root(bench).querySelectorAll<HTMLElement>('.end-open')].map((each) => each.textContent!.replace(/\s+/g, ' ').trim());
    expect(ends()).toEqual(['source+4.0 dBuideal, surroundings', 'load none, surroundings']);
    for (const end of root(bench).querySelectorAll('.end-open')) await userEvent.click(end);
    await userEvent.click(find(bench.element, '.sheet'));
    expect(bench.actions.map((action) => (action.kind === 'open-stage' ? action.stageKey : action.kind))).toEqual(['surroundings', 'surroundings', 'supply']);
    const { setting } = bench.element.state;
    bench.element.state = { ...bench.element.state, setting: { ...setting, path: { ...setting.path, surroundings: { ...defaultValues(surroundings), sourceOhms: 150, loadOhms: 600 } } } };
    await settle(bench.element);
    expect(ends()).toEqual(['source+4.0 dBu150 Ω, surroundings', 'load 600 Ω, surroundings']);
  });

  it('marks a joint that is joined with a dot and in words', async () => {
    const bench = await strip(three, 'wide', 1232);
    const { setting } = bench.element.state;
    bench.element.state = { ...bench.element.state, setting: { ...setting, path: replaceStage(setting.path, 's2', { joined: true }) } };
    await settle(bench.element);
    expect([...root(bench).querySelectorAll('.cell')].map((cell) => cell.classList.contains('joined'))).toEqual([false, true, false]);
    expect(root(bench).querySelectorAll('.switch')[1]!.getAttribute('aria-label')).toBe('2 push-pull, in circuit, joined to 1 single-ended');
  });

  it('moves with arrows between stages and between the two buttons', async () => {
    const bench = await strip(three, 'wide', 1232);
    (tabStops(bench)[0] as HTMLElement).focus();
    await keys(bench, '{ArrowRight}');
    expect(focused(bench)!.querySelector('.title')!.textContent).toBe('2 push-pull');
    await keys(bench, '{ArrowDown}');
    expect(focused(bench)!.getAttribute('aria-label')).toBe('2 push-pull, in circuit');
    await keys(bench, '{ArrowLeft}{ArrowLeft}{ArrowLeft}');
    expect(focused(bench)!.getAttribute('aria-label')).toBe('1 single-ended, in circuit');
    await keys(bench, '{End}{ArrowUp}{Enter}');
    expect(bench.actions).toEqual([{ kind: 'open-stage', stageKey: 's3' }]);
    expect(tabStops(bench)).toHaveLength(1);
  });

  it('reorders with Shift and keeps the focus on the stage that moved', async () => {
    const bench = await strip(three, 'wide', 1232);
    (tabStops(bench)[0] as HTMLElement).focus();
    await keys(bench, '{Shift>}{ArrowRight}{/Shift}');
    expect(bench.actions).toEqual([{ kind: 'move-stage', stageKey: 's1', toIndex: 1 }]);
    expect(focused(bench)!.querySelector('.title')!.textContent).toBe('2 single-ended');
    await keys(bench, '{Shift>}{ArrowLeft}{ArrowLeft}{/Shift}');
    expect(bench.actions).toHaveLength(2);
    expect(focused(bench)!.querySelector('.title')!.textContent).toBe('1 single-ended');
  });

  it('removes with Delete, the focus going to a neighbour, and adds by the row that Insert opens', async () => {
    const bench = await strip(three, 'wide', 1232);
    (tabStops(bench)[0] as HTMLElement).focus();
    await keys(bench, '{ArrowRight}{Delete}');
    expect(bench.actions).toEqual([{ kind: 'remove-stage', stageKey: 's2' }]);
    expect(focused(bench)!.querySelector('.title')!.textContent).toBe('2 shaping');
    await keys(bench, '{Insert}');
    await settle(bench.element);
    const choice = find<HTMLButtonElement>(bench.element, 'stage-chooser').shadowRoot!.activeElement!;
    expect(choice.textContent).toContain('Single-ended stage, bipolar');
    await keys(bench, '{ArrowDown}{ArrowDown}');
    expect(find(bench.element, 'stage-chooser').shadowRoot!.activeElement!.textContent).toContain('valve');
    await keys(bench, '{ArrowUp}{Enter}');
    expect(bench.actions.at(-1)).toEqual({ kind: 'insert-stage', stage: 'single-ended-field-effect', atIndex: 2 });
    expect(find(bench.element, 'path-editor').shadowRoot!.querySelector('stage-chooser')).toBeNull();
  });

  it('inserts before or after the open stage from the menu, and closes the chooser by Escape or by its button', async () => {
    const bench = await strip(three, 'wide', 1232);
    await userEvent.click(find(bench.element, '.edit'));
    await settle(bench.element);
    const press = async (words: string) => {
      await userEvent.click([...find(bench.element, 'path-editor').shadowRoot!.querySelectorAll('button')].find((each) => each.textContent === words)!);
      await settle(bench.element);
    };
    await press('Insert before');
    const chooser = () => find(bench.element, 'path-editor').shadowRoot!.querySelector('stage-chooser');
    expect(chooser()!.shadowRoot!.querySelector('h2')!.textContent).toBe('Insert a stage before 1 single-ended');
    await userEvent.click(chooser()!.shadowRoot!.querySelector('[data-stage="push-pull"]')!);
    await settle(bench.element);
    expect(bench.actions.at(-1)).toEqual({ kind: 'insert-stage', stage: 'push-pull', atIndex: 0 });
    await press('Insert after');
    await keys(bench, '{Escape}');
    expect(chooser()).toBeNull();
    expect(focused(bench)!.matches('.open'), 'the focus goes back to the path').toBe(true);
    await press('Move later');
    expect(bench.actions.at(-1)).toEqual({ kind: 'move-stage', stageKey: 's1', toIndex: 1 });
    await press('Remove');
    expect(bench.actions.at(-1)).toEqual({ kind: 'remove-stage', stageKey: 's1' });
  });

  it('refuses an eleventh stage in words, and says so where a file holds more', async () => {
    const bench = await strip(ten, 'wide', 1232);
    (tabStops(bench)[0] as HTMLElement).focus();
    await keys(bench, '{Insert}');
    expect(find(bench.element, 'path-editor').shadowRoot!.querySelector('[role="alert"]')!.textContent).toBe('The path holds 10 stages; remove one to insert another.');
    expect(root(bench).querySelector('.notice')).toBeNull();
    const twelve = await strip([...ten, 'push-pull', 'push-pull'], 'wide', 1232);
    expect(root(twelve).querySelector('.notice')!.textContent).toBe('12 stages in this file; the page is laid out for 10. All of them are shown and play; remove 3 to insert another.');
    expect(root(twelve).querySelectorAll('.cell')).toHaveLength(12);
  });

  it.each([['wide', 1232], ['wide', 640], ['narrow', 358]] as const)('drags a cell along the wire (%s, %i px), with a mark where it would go; Escape puts it back', async (shape, widthPx) => {
    const bench = await strip(ten, shape, widthPx);
    const cells = () => [...root(bench).querySelectorAll<HTMLElement>('.cell, .cells li')];
    const button = (index: number) => cells()[index]!.querySelector<HTMLElement>('button')!;
    const at = (index: number, share: number) => {
      const { left, width, top } = cells()[index]!.getBoundingClientRect();
      return { clientX: left + share * width, clientY: top + 20 };
    };
    const pointer = (type: string, target: Element, where: { clientX: number; clientY: number }, buttons = 1) =>
      target.dispatchEvent(new PointerEvent(type, { bubbles: true, composed: true, pointerId: 1, isPrimary: true, button: 0, buttons, pointerType: 'mouse', ...where }));
    const list = root(bench).querySelector('ol')!;
    list.setPointerCapture = () => undefined;
    const dragTo = async (from: number, to: number, share: number) => {
      button(from).focus();
      pointer('pointerdown', button(from), at(from, 0.5));
      pointer('pointermove', list, { ...at(from, 0.5), clientX: at(from, 0.5).clientX + 3 });
      await settle(bench.element);
      expect(root(bench).querySelector('.lifted'), 'a press is no drag').toBeNull();
      pointer('pointermove', list, at(to, share));
      await settle(bench.element);
      expect(cells()[from]!.classList.contains('lifted')).toBe(true);
    };

    await dragTo(1, 7, 0.9);
    expect(cells()[8]!.classList.contains('drop-before')).toBe(true);
    pointer('pointerup', list, at(7, 0.9), 0);
    await settle(bench.element);
    expect(bench.actions).toEqual([{ kind: 'move-stage', stageKey: 's2', toIndex: 7 }]);
    expect(focused(bench), 'the focus goes with the stage').toBe(button(7));

    await dragTo(7, 9, 0.9);
    expect(cells()[9]!.classList.contains('drop-after')).toBe(true);
    pointer('pointerup', list, at(9, 0.9), 0);
    expect(bench.actions.at(-1)).toEqual({ kind: 'move-stage', stageKey: 's2', toIndex: 9 });
    await settle(bench.element);

    await dragTo(9, 0, 0.1);
    await userEvent.keyboard('{Escape}');
    await settle(bench.element);
    expect(root(bench).querySelector('.lifted, .drop-before')).toBeNull();
    pointer('pointerup', list, at(0, 0.1), 0);
    expect(bench.actions).toHaveLength(2);
  });

  it('strikes a faulty stage through and says so', async () => {
    const bench = await strip(three, 'wide', 1232, { fault: { stageKey: 's2', sentence: '', at: null } });
    expect([...root(bench).querySelectorAll('stage-sign')].map((sign) => sign.shadowRoot!.querySelector('.strike') !== null)).toEqual([false, true, false]);
    expect(root(bench).querySelectorAll('.switch')[1]!.textContent).toContain('fault');
  });

  it.each([[1232, 1], [900, 2], [640, 2]])('holds ten stages at %d px in %d line(s), none narrower than 72 px', async (widthPx, lines) => {
    const bench = await strip(ten, 'wide', widthPx);
    const cells = [...root(bench).querySelectorAll('.cell')].map((cell) => cell.getBoundingClientRect());
    expect(new Set(cells.map(({ top }) => Math.round(top))).size).toBe(lines);
    expect(Math.min(...cells.map(({ width }) => width))).toBeGreaterThanOrEqual(72);
    expect(root(bench).querySelectorAll('.goes-on')).toHaveLength(lines - 1);
    expect(bench.element.scrollWidth).toBeLessThanOrEqual(widthPx);
  });
});

describe('the narrow path', () => {
  it('shows ten cells of 35 by 40 px at least in one line of 358, and the open stage in words', async () => {
    const bench = await strip(ten, 'narrow', 358);
    const cells = [...root(bench).querySelectorAll('.cells button')].map((cell) => cell.getBoundingClientRect());
    expect(cells).toHaveLength(10);
    expect(new Set(cells.map(({ top }) => top)).size).toBe(1);
    for (const { width, height } of cells) expect(width >= 35 && height >= 40).toBe(true);
    expect([...find(bench.element, '.row').children].map((each) => each.textContent).filter((words) => words !== '')).toEqual(['1 single-ended', 'in circuit', 'All…']);
  });

  it('marks a stage that is out by a strike and a dashed rule, not by colour alone', async () => {
    const bench = await strip(three, 'narrow', 358);
    await userEvent.click(find(bench.element, '.row [role="switch"]'));
    await settle(bench.element);
    const cell = root(bench).querySelector('.cells li')!;
    expect(getComputedStyle(cell.querySelector('button')!).textDecorationLine).toBe('line-through');
    expect(getComputedStyle(cell).borderBottomStyle).toBe('dashed');
    expect(cell.querySelector('button')!.getAttribute('aria-label')).toBe('1 single-ended, out of circuit');
  });

  it('lists all stages, one a row, each with its switch, and opens one', async () => {
    const bench = await strip(ten, 'narrow', 358);
    await userEvent.click([...root(bench).querySelectorAll('button')].find((each) => each.textContent === 'All…')!);
    await settle(bench.element);
    const rows = [...root(bench).querySelectorAll('.list li')];
    expect(rows.map((row) => row.querySelectorAll('button').length)).toEqual(Array(10).fill(2));
    for (const row of rows) expect(row.getBoundingClientRect().height).toBeGreaterThanOrEqual(44);
    await userEvent.click(rows[4]!.querySelector('.open')!);
    expect(bench.actions).toEqual([{ kind: 'open-stage', stageKey: 's5' }]);
  });
});
