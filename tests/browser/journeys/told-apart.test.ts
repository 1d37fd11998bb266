/** What is told, and told apart, without sight of colour, without motion, by name and by outline. */
import { userEvent } from 'vitest/browser';
import { describe, expect, it, onTestFinished } from 'vitest';
import { orders } from '../../../dsp/measure/index.ts';
import { defaultValues, stages } from '../../../dsp/stages/index.ts';
import { openingState } from '../../../ui/page/opening.ts';
import { allDeep, deep, frames, harmonicsAt, loops, mountPage, press, wait } from '../page/support.ts';
import { accessibilityTree, button, editorOf, emulate, mounted, protocol, settingOf, spinOf } from './support.ts';

/** A unit as a word; ratios and qualities have none, decibels are a word with their reference. */
const unitWords = /\b(ohm|kilohm|megohm|(pico|nano|micro|milli)?farad|(micro|milli)?henry|metre|(micro|milli|nano)?(ampere)|(milli|kilo)?volt|(kilo|mega)?hertz|second|decibel|dBu|d B u|percent|degree)s?\b/;

describe('acceptance 7: the accessibility tree', () => {
  it.each(stages.map((stage) => [stage.id, stage] as const))('of %s has each value once: name, limits, number, and words with a unit and without a symbol', async (id, stage) => {
    const opening = openingState(loops);
    const page = await mounted(mountPage({ ...opening, setting: settingOf([id]), session: { ...opening.session, openStageKey: 's1' } }));
    const nodes = await accessibilityTree();
    const shown = stage.relevant?.(defaultValues(stage));
    for (const parameter of stage.parameters.filter(({ id: parameterId }) => shown?.includes(parameterId) ?? true)) {
      const name = parameter.designator === undefined ? parameter.label : `${parameter.designator}, ${parameter.label}`;
      const found = nodes.filter((node) => node.name === name && (node.role === 'spinbutton' || node.role === 'combobox'));
      expect(found, name).toHaveLength(1);
      const [node] = found;
      if (parameter.kind === 'choice') {
        expect(node!.role, name).toBe('combobox');
        expect(node!.value, name).toBe(parameter.options.find((option) => option.id === parameter.default)!.label);
        continue;
      }
      expect(node!.role, name).toBe('spinbutton');
      // The tree holds single-precision numbers: 24 bits, 6e-8 of the figure.
      const figures = { least: [node!.properties['valuemin'], parameter.minimum], most: [node!.properties['valuemax'], parameter.maximum], now: [node!.value, parameter.default] } as const;
      for (const [what, [actual, expected]] of Object.entries(figures)) {
        expect(Math.abs(Number(actual ?? NaN) - expected) <= 1e-7 * Math.abs(expected), `${name}, ${what}: expected ${expected}, got ${String(actual)}`).toBe(true);
      }
      const words = spinOf(parameter.id).getAttribute('aria-valuetext')!;
      expect(words, name).not.toMatch(/[Ωµ°%]|\d[kMmnp]\b/);
      if (parameter.unit !== '') expect(words, name).toMatch(unitWords);
    }
    await page.settle();
  });
});

describe('acceptance 8: told apart without colour', () => {
  const style = (element: Element) => getComputedStyle(element);
  const isHatched = (row: Element) => getComputedStyle(row.querySelector('svg rect')!).fill.startsWith('url(');

  it('in and out: by the word, by a dashed frame, by the wire beneath', async () => {
    const page = await mounted(mountPage());
    const sign = () => allDeep('stage-sign')[1]!.shadowRoot!.innerHTML;
    const inside = { words: deep('.box').textContent, frame: style(deep('.box')).borderTopStyle, sign: sign() };
    press('o');
    await page.settle();
    expect(inside.words).toBe('In circuit');
    expect(deep('.box').textContent).toBe('Out of circuit');
    expect([inside.frame, style(deep('.box')).borderTopStyle]).toEqual(['solid', 'dashed']);
    expect(sign()).not.toBe(inside.sign);
    press('i');
    const cell = allDeep('.switch', deep('path-strip').shadowRoot!)[1]!;
    await userEvent.click(cell);
    await page.settle();
    expect(cell.textContent).toMatch(/^out/);
    expect(cell.getAttribute('aria-checked')).toBe('false');
    expect(allDeep('stage-sign')[1]!.shadowRoot!.innerHTML).not.toBe(inside.sign);
    expect(allDeep('stage-sign')[0]!.shadowRoot!.innerHTML).not.toBe(allDeep('stage-sign')[1]!.shadowRoot!.innerHTML);
  });

  it('harsh: by the word in the row and by a hatch', async () => {
    const page = await mounted(mountPage());
    page.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
    await page.settle();
    await wait(300);
    const rows = allDeep('tbody tr', deep('harmonic-ledger').shadowRoot!);
    expect(rows).toHaveLength(orders.length);
    for (const [index, { order, judgement }] of orders.entries()) {
      const row = rows[index]!;
      expect(/harsh/.test(row.textContent!), `H${order}, word`).toBe(judgement === 'harsh');
      // The made-up figures end at H8; what is not measured has no bar.
      if (order <= 8) expect(isHatched(row), `H${order}, hatch`).toBe(judgement === 'harsh');
    }
  });

  it('changed: by a bar at the left and in words', async () => {
    const page = await mounted(mountPage());
    const bar = () => getComputedStyle(editorOf('emitterOhms'), '::before');
    expect(bar().content).toBe('none');
    spinOf('emitterOhms').focus();
    await userEvent.keyboard('{ArrowUp}');
    await page.settle();
    expect(bar().content).toBe('""');
    expect(parseFloat(bar().width)).toBeGreaterThanOrEqual(2);
    expect(spinOf('emitterOhms').getAttribute('aria-valuetext')).toBe('11 ohm, changed, default 10 ohm');
    expect(deep('title-line').shadowRoot!.textContent).toContain('changed since frozen');
  });

  it('fault: by the word, by a strike through the sign, by a sentence', async () => {
    const page = await mounted(mountPage());
    const before = allDeep('stage-sign')[1]!.shadowRoot!.innerHTML;
    page.bench.dispatch({ kind: 'fault', revision: 1, fault: { stageKey: 's2', sentence: 'R1: expected ohms > 0, got -47', at: null } });
    await page.settle();
    expect(allDeep('.switch', deep('path-strip').shadowRoot!)[1]!.textContent).toContain('fault');
    expect(allDeep('stage-sign')[1]!.shadowRoot!.innerHTML).not.toBe(before);
    expect(deep('.error', deep('stage-sheet').shadowRoot!).textContent).toContain('R1: expected ohms > 0, got -47');
  });

  it('selected: by a rule 3 px thick and in the tree; focus by an outline of 3 px', async () => {
    const page = await mounted(mountPage());
    const strip = deep('path-strip').shadowRoot!;
    const open = allDeep('button.open', strip);
    expect(open.map((element) => element.getAttribute('aria-current'))).toEqual([null, 'true', null]);
    const rules = allDeep('li', strip).map((cell) => ['', '::before', '::after'].map((pseudo) => {
      const { borderBottomWidth, borderBottomStyle, boxShadow, height, content, backgroundColor } = getComputedStyle(cell, pseudo || null);
      return [borderBottomWidth, borderBottomStyle, boxShadow, pseudo && content !== 'none' ? `${height} ${backgroundColor}` : ''].join(' ');
    }).join('|'));
    expect(rules[1]).not.toBe(rules[0]);
    expect(rules[1]).toContain('3px');
    await userEvent.tab();
    spinOf('emitterOhms').focus();
    await page.settle();
    expect(style(spinOf('emitterOhms')).outlineWidth).toBe('3px');
    expect(style(spinOf('emitterOhms')).outlineStyle).toBe('solid');
  });

  it('also with forced colours: hatches, dashes and outlines remain', async () => {
    await emulate('forced-colors', 'active');
    const page = await mounted(mountPage());
    expect(matchMedia('(forced-colors: active)').matches).toBe(true);
    page.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
    press('o');
    await page.settle();
    await wait(300);
    expect(style(deep('.box')).borderTopStyle).toBe('dashed');
    const rows = allDeep('tbody tr', deep('harmonic-ledger').shadowRoot!);
    expect([0, 1, 2, 3].map((index) => isHatched(rows[index]!))).toEqual([false, false, false, true]);
    const before = getComputedStyle(editorOf('quiescentAmperes'), '::before');
    expect(before.content, 'the quiescent current is not at its default').toBe('""');
    expect(before.backgroundColor).not.toBe('rgba(0, 0, 0, 0)');
  });
});

describe('acceptance 9: other papers', () => {
  const luminance = (colour: string) => {
    const canvas = new OffscreenCanvas(1, 1).getContext('2d')!;
    canvas.fillStyle = colour;
    canvas.fillRect(0, 0, 1, 1);
    const [red, green, blue] = canvas.getImageData(0, 0, 1, 1).data;
    return (0.2126 * red! + 0.7152 * green! + 0.0722 * blue!) / 255;
  };
  const paperAndInk = (element: Element) => [luminance(getComputedStyle(document.documentElement).backgroundColor), luminance(getComputedStyle(element).color)] as const;

  it.each([['light', 1], ['dark', -1]] as const)('follows a system that asks for %s', async (scheme, sign) => {
    await emulate('prefers-color-scheme', scheme);
    await mounted(mountPage());
    const [paper, ink] = paperAndInk(spinOf('emitterOhms'));
    expect(sign * (paper - ink)).toBeGreaterThan(0.5);
  });

  it('prints dark ink on white, docks in the flow', async () => {
    await emulate('prefers-color-scheme', 'dark');
    const page = await mounted(mountPage());
    await protocol().send('Emulation.setEmulatedMedia', { media: 'print', features: [{ name: 'prefers-color-scheme', value: 'dark' }] });
    onTestFinished(async () => { await protocol().send('Emulation.setEmulatedMedia', { media: '', features: [] }); });
    await page.settle();
    expect(matchMedia('print').matches).toBe(true);
    expect(getComputedStyle(document.documentElement).backgroundColor).toBe('rgba(0, 0, 0, 0)');
    expect(luminance(getComputedStyle(spinOf('emitterOhms')).color)).toBeLessThan(0.3);
    expect(getComputedStyle(deep('.dock')).position).toBe('static');
    expect(getComputedStyle(deep('.ledger')).position).toBe('static');
  });
});

describe('acceptance 10: less motion, measured in frames', () => {
  /** How often a thing drawn differed from the frame before, within a second. */
  async function changesInASecond(step: (index: number) => void, drawn: () => string): Promise<number> {
    let changes = 0;
    let last = drawn();
    const until = performance.now() + 1000;
    for (let index = 0; performance.now() < until; index += 1) {
      step(index);
      await frames(1);
      const now = drawn();
      if (now !== last) changes += 1;
      last = now;
    }
    return changes;
  }

  it.each([['no-preference', 31], ['reduce', 5]] as const)('bars and playhead, prefers-reduced-motion: %s', async (preference, most) => {
    await emulate('prefers-reduced-motion', preference);
    const page = await mounted(mountPage());
    expect(matchMedia('(prefers-reduced-motion: reduce)').matches).toBe(preference === 'reduce');
    const bars = () => allDeep('tbody tr svg', deep('harmonic-ledger').shadowRoot!).map((svg) => svg.innerHTML.replaceAll(/<!--.*?-->/g, '')).join('');
    const counted = await changesInASecond((index) => page.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60 - (index % 40)) }), bars);
    // Thirty a second at most, four where less is wanted; one more for the edge of the second.
    expect(counted).toBeLessThanOrEqual(most);
    expect(counted).toBeGreaterThanOrEqual(2);
    const begun = performance.now();
    const steps = await changesInASecond(() => { page.readings.positionSeconds = 2 + (performance.now() - begun) / 1000; }, () => deep('#playhead').style.left);
    expect(steps).toBeLessThanOrEqual(most + 1);
    expect(steps).toBeGreaterThanOrEqual(2);
    // Nothing slides, bounces or blinks in either.
    for (const element of allDeep('*', page.root.shadowRoot!)) {
      const { animationName, transitionDuration } = getComputedStyle(element);
      expect(`${animationName} ${transitionDuration}`, element.localName).toBe('none 0s');
    }
  });
});

describe('acceptance 12: Hold', () => {
  it.each([[1280, 800, null], [640, 400, 'open'], [390, 844, 'probe, marks']] as const)('stops the updating of the ledger at %i × %i; let go, the newest stands there', async (width, height, opener) => {
    const page = await mounted(mountPage(undefined, width, height));
    page.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
    const ledger = deep('harmonic-ledger').shadowRoot!;
    if (opener !== null) await userEvent.click(button(opener, ledger));
    await page.settle();
    await wait(300);
    const drawn = () => allDeep('table, .standing', ledger).map((element) => element.outerHTML).join('');
    await userEvent.click(button('Hold', ledger));
    await page.settle();
    const held = drawn();
    expect(held).toContain('−60');
    expect(ledger.textContent).toContain('held');
    for (let index = 1; index <= 6; index += 1) {
      page.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60 - index) });
      await wait(80);
    }
    expect(drawn()).toBe(held);
    await userEvent.click(button('Let go', ledger));
    await page.settle();
    await wait(300);
    expect(drawn()).toContain('−66');
    expect(ledger.textContent).not.toContain('held');
  });
});

describe('acceptance 16: a table of contents', () => {
  it.each([[1280, 800], [640, 400], [390, 844]] as const)('at %i × %i: language, one first heading, no level left out, landmarks each with a name of its own', async (width, height) => {
    await mounted(mountPage(undefined, width, height));
    expect(document.documentElement.lang).toBe('en');
    const nodes = await accessibilityTree();
    const levels = nodes.filter(({ role }) => role === 'heading').map(({ name, properties }) => ({ name, level: properties['level'] as number }));
    expect(levels.filter(({ level }) => level === 1).map(({ name }) => name)).toEqual(['Stagebench']);
    expect(levels[0]!.level).toBe(1);
    for (const [index, { name, level }] of levels.entries()) {
      expect(name.trim(), `heading ${index + 1}`).not.toBe('');
      expect(level - (levels[index - 1]?.level ?? 0), `${name}: level ${level}`).toBeLessThanOrEqual(1);
    }
    const landmarks = nodes.filter(({ role }) => ['banner', 'navigation', 'main', 'region', 'complementary', 'contentinfo'].includes(role));
    const named = landmarks.map(({ role, name }) => `${role} ${name}`);
    expect(new Set(named).size).toBe(named.length);
    for (const wanted of ['main ', 'navigation Path', 'region Harmonics', 'complementary Readings and notes', 'region Listening']) expect(named.map((name) => (name.startsWith('main') ? 'main ' : name))).toContain(wanted);
  });
});
