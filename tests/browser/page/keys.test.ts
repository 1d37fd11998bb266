import { userEvent } from 'vitest/browser';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { allDeep, deep, focused, focusPath, frames, harmonicsAt, mountPage, press, release, wait } from './support.ts';
import type { MountedPage } from './support.ts';

let page: MountedPage;
beforeEach(async () => { page = await mountPage(); });
afterEach(() => page.remove());

const live = () => page.bench.state.live;
const button = (words: string, from: ParentNode = document) => {
  const found = [...from.querySelectorAll<HTMLElement>('*')].flatMap(function walk(element): HTMLElement[] {
    const inside = element.shadowRoot ? [...element.shadowRoot.querySelectorAll<HTMLElement>('*')].flatMap(walk) : [];
    return element.localName === 'button' && element.textContent?.trim() === words ? [element, ...inside] : inside;
  })[0];
  if (!found) throw new Error(`no button "${words}"`);
  return found;
};

describe('Space', () => {
  it('plays and pauses from anywhere, also after a button was clicked', async () => {
    await userEvent.keyboard(' ');
    expect(live().playing).toBe(true);
    await userEvent.click(button('Turn off the match'));
    await userEvent.keyboard(' ');
    expect(live().playing).toBe(false);
    expect(page.actions.filter(({ kind }) => kind === 'match')).toHaveLength(1);
  });

  it('belongs to a button that was reached by keyboard', async () => {
    deep('title-line').focus();
    for (let stop = 0; stop < 12 && focused()?.textContent?.trim() !== 'Keys'; stop += 1) await userEvent.tab();
    await userEvent.keyboard(' ');
    expect(live().shelf).toBe('keys');
    expect(live().playing).toBe(false);
  });

  it('is a space in a text', async () => {
    const field = deep<HTMLInputElement>('input[type="text"]', deep('title-line').shadowRoot!);
    await userEvent.click(field);
    await userEvent.keyboard(' x');
    expect(live().playing).toBe(false);
    expect(field.value).toContain(' x');
    expect(live().trialIn).toBe(true);
  });
});

describe('switching', () => {
  it('C acts on the press; tapped it stays, held it returns on release', async () => {
    press('c');
    expect(live().trialIn).toBe(false);
    release('c');
    await wait(20);
    expect(live().trialIn).toBe(false);
    press('c');
    expect(live().trialIn).toBe(true);
    press('c', { repeat: true });
    await wait(320);
    release('c');
    expect(live().trialIn).toBe(false);
  });

  it('I and O are absolute', () => {
    for (const [key, trialIn] of [['o', false], ['o', false], ['i', true], ['i', true]] as const) {
      press(key);
      expect(live().trialIn).toBe(trialIn);
    }
  });

  it('the box behaves alike under mouse and keyboard, and tells its side by words and frame', async () => {
    const box = () => deep('.box');
    await userEvent.click(box());
    expect(live().trialIn).toBe(false);
    await page.settle();
    expect(box().textContent).toBe('Out of circuit');
    expect(getComputedStyle(box()).borderTopStyle).toBe('dashed');
    await userEvent.click(box(), { delay: 330 });
    expect(live().trialIn).toBe(false);
    await userEvent.click(button('Play'));
    await userEvent.tab();
    expect(focused()).toBe(box());
    await userEvent.keyboard('{Enter}');
    expect(live().trialIn).toBe(true);
  });

  it('redraws the wire beneath what is out: the whole path, or the stage on trial alone', async () => {
    const outside = () => allDeep('stage-sign').map((sign) => !(sign as HTMLElement & { inCircuit: boolean }).inCircuit);
    press('o');
    await page.settle();
    expect(outside()).toEqual([true, true, true]);
    page.bench.dispatch({ kind: 'on-trial', onTrial: { kind: 'stage', key: 's2' } });
    press('o');
    await page.settle();
    expect(outside()).toEqual([false, true, false]);
    expect(page.bench.state.setting.path.stages.every(({ inCircuit }) => inCircuit)).toBe(true);
  });

  it('never moves the position', () => {
    press('o');
    press('i');
    press('c');
    expect(page.actions.some(({ kind }) => kind === 'seek' || kind === 'loop' || kind === 'pause')).toBe(false);
  });
});

describe('Escape', () => {
  const silenced = () => page.actions.filter(({ kind }) => kind === 'silence').length;

  it('silences while typing, with the key card open, while a tone is asked for, and leaves nothing playing', async () => {
    await userEvent.keyboard(' ');
    await userEvent.click(deep('input[type="text"]', deep('title-line').shadowRoot!));
    await userEvent.keyboard('{Escape}');
    expect(silenced()).toBe(1);
    expect(live().playing).toBe(false);

    page.bench.dispatch({ kind: 'shelf', shelf: 'keys' });
    page.bench.dispatch({ kind: 'play' });
    await page.settle();
    expect(focused()?.textContent).toBe('Keys');
    await userEvent.keyboard('{Escape}');
    expect(silenced()).toBe(2);
    expect(live()).toMatchObject({ playing: false, shelf: null });
    await page.settle();
    expect(focused()?.id).toBe('shelf-keys');

    page.bench.dispatch({ kind: 'ask-tone', frequencyHz: 1000, levelDbu: 4 });
    await page.settle();
    await userEvent.keyboard('{Escape}');
    expect(live()).toMatchObject({ toneAsked: null, tonePlaying: false });
    expect(silenced()).toBe(3);
  });
});

describe('tone', () => {
  it('asks on its harmless answer; refused it is silent, accepted it plays', async () => {
    const loop = deep<HTMLSelectElement>('select', deep('loop-line').shadowRoot!);
    await userEvent.selectOptions(loop, 'probe tone …');
    await page.settle();
    expect(focused()?.textContent).toBe('Not now');
    expect(deep('tone-consent').shadowRoot!.textContent).toContain('A 200 Hz tone');
    expect(deep('tone-consent').shadowRoot!.textContent).toContain('monitor −20 dB');
    await userEvent.keyboard('{Enter}');
    expect(live()).toMatchObject({ toneAsked: null, tonePlaying: false });
    page.bench.dispatch({ kind: 'ask-tone', frequencyHz: 1000, levelDbu: 4 });
    await page.settle();
    await userEvent.click(button('Play the tone'));
    expect(live()).toMatchObject({ toneAsked: null, tonePlaying: true });
    await page.settle();
    await userEvent.click(button('Stop the tone'));
    expect(live().tonePlaying).toBe(false);
  });
});

describe.each([[1280, 800], [390, 844], [640, 400]])('listening surface at %i × %i', (width, height) => {
  beforeEach(async () => {
    page.remove();
    page = await mountPage(undefined, width, height);
  });

  it('takes L, then seeks, levels, closes and opens the region, and takes the next loop', async () => {
    press('l');
    expect(focused()?.id).toBe('surface');
    await frames(3);
    press('ArrowRight');
    press('ArrowLeft');
    press('ArrowUp');
    press('ArrowDown');
    press('ArrowDown');
    const seeks = page.actions.flatMap((action) => (action.kind === 'seek' ? [action.seconds] : []));
    expect(seeks).toEqual([3, 2]);
    expect(live().monitorDb).toBe(-21);
    press('s');
    page.readings.positionSeconds = 5;
    await frames(3);
    press('e');
    expect(page.bench.state.session.region).toEqual({ startSeconds: 2, endSeconds: 5 });
    await page.settle();
    press('ArrowRight');
    expect(page.actions.at(-1)).toEqual({ kind: 'seek', seconds: 3 });
    press('w');
    expect(page.bench.state.session.region).toBeNull();
    press('n');
    expect(page.bench.state.session.loop).toBe('clarinet');
    press(' ');
    press('o');
    expect(live()).toMatchObject({ playing: true, trialIn: false });
  });

  it('is one focus stop that says its keys', () => {
    const surface = deep('#surface');
    expect(surface.querySelector('button, [tabindex]')).toBeNull();
    expect(surface.getAttribute('role')).toBe('application');
    const described = (surface.getRootNode() as ShadowRoot).getElementById(surface.getAttribute('aria-describedby')!);
    expect(described?.textContent).toMatch(/S starts the region here.*N the next loop/);
  });
});

describe('telling', () => {
  it('lets a comparison be made by T, H, I, O, L, Space and arrows alone', async () => {
    page.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
    page.bench.dispatch({ kind: 'matched', revision: 1, match: { kind: 'matched', inGainDb: -1.84, outGainDb: 0, residualDb: 0.02, waitsForSwitch: false } });
    const told = () => live().message?.text;
    press('l');
    press(' ');
    press('o');
    press('t');
    expect(told()).toBe('out of circuit, whole path on trial, matched, 0.02 decibel left, monitor minus 20');
    press('ArrowUp');
    press('i');
    press('t');
    expect(told()).toBe('in circuit, whole path on trial, matched, 0.02 decibel left, monitor minus 19');
    press('h');
    expect(told()).toContain('worst harsh H5');
    press('ArrowLeft');
    press('o');
    expect(live()).toMatchObject({ playing: true, trialIn: false });
    expect(page.actions.filter(({ kind }) => kind === 'seek')).toHaveLength(1);
  });

  it('T and H speak through the status region', async () => {
    page.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
    press('t');
    await frames(3);
    const status = deep('[role="status"]', deep('state-line').shadowRoot!);
    expect(status.textContent).toContain('whole path on trial');
    await wait(1050);
    press('h');
    await wait(100);
    expect(status.textContent).toContain('worst harsh H5');
  });

  it('says at most one message a second and none while a value is dragged', async () => {
    const said: { text: string; ms: number }[] = [];
    const line = deep('state-line').shadowRoot!;
    const note = () => {
      const text = [...line.querySelectorAll('[role="status"], [role="alert"]')].map((region) => region.textContent?.trim()).join('');
      if (text !== '' && text !== said.at(-1)?.text) said.push({ text, ms: performance.now() });
    };
    const observer = new MutationObserver(note);
    observer.observe(line, { subtree: true, childList: true, characterData: true });
    const until = performance.now() + 2400;
    for (let index = 0; performance.now() < until; index += 1) {
      page.bench.dispatch({ kind: 'message', text: `message ${index}`, urgent: index % 3 === 0 });
      await frames(1);
    }
    expect(said.length).toBeGreaterThanOrEqual(2);
    const gaps = said.slice(1).map(({ ms }, index) => ms - said[index]!.ms);
    expect(gaps.every((gap) => gap >= 950), `gaps ${gaps}`).toBe(true);

    // The last one waits up to a second; another second later only the drag stands between a message and its being said.
    await wait(2100);
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 11, phase: 'begin' });
    await page.settle();
    const before = said.length;
    page.bench.dispatch({ kind: 'message', text: 'during the drag', urgent: false });
    await wait(300);
    expect(said.length).toBe(before);
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 12, phase: 'end' });
    await wait(300);
    expect(said.at(-1)?.text).toBe('during the drag');
    observer.disconnect();
  });
});

describe('going to a value', () => {
  it('works on the narrow page too', async () => {
    page.remove();
    page = await mountPage(undefined, 390, 844);
    await userEvent.keyboard('giq{Enter}');
    await page.settle();
    await wait(50);
    expect(focusPath()).toContain('stage-sheet');
    expect(focused()?.getAttribute('aria-label') ?? '').toMatch(/quiescent current/);
  });

  it('takes G, a designator in any stage, and Enter', async () => {
    page.bench.dispatch({ kind: 'open-stage', stageKey: 's1' });
    await page.settle();
    await userEvent.keyboard('g');
    await page.settle();
    expect(focusPath()).toContain('go-to-value');
    await userEvent.keyboard('i q{Enter}');
    await page.settle();
    await wait(50);
    expect(page.bench.state.session.openStageKey).toBe('s2');
    expect(focusPath()).toContain('stage-sheet');
    expect(focused()?.getAttribute('aria-label') ?? '').toMatch(/quiescent current/);
    const before = page.bench.state.setting.path.stages[1]!.values['quiescentAmperes'] as number;
    await userEvent.keyboard('{ArrowUp}');
    expect(page.bench.state.setting.path.stages[1]!.values['quiescentAmperes']).toBeGreaterThan(before);
  });

  it('names what it cannot find', async () => {
    await userEvent.keyboard('g');
    await page.settle();
    await userEvent.keyboard('xyzzy{Enter}');
    await page.settle();
    expect(deep('[role="alert"]', deep('go-to-value').shadowRoot!).textContent).toBe('No value is called "xyzzy".');
    expect(live().goToOpen).toBe(true);
  });
});

describe('key card', () => {
  it('changes a letter, refuses one that is taken, and switches letters off', async () => {
    page.bench.dispatch({ kind: 'shelf', shelf: 'keys' });
    await page.settle();
    const card = deep('key-card').shadowRoot!;
    const [toggle] = card.querySelectorAll<HTMLInputElement>('input[type="text"]');
    await userEvent.fill(toggle!, 'x');
    await userEvent.tab();
    press('c', {}, document.body);
    expect(live().trialIn).toBe(true);
    press('x', {}, document.body);
    release('x');
    expect(live().trialIn).toBe(false);
    await userEvent.fill(toggle!, 'i');
    await userEvent.tab();
    await page.settle();
    expect(card.querySelector('[role="alert"]')?.textContent).toContain('I is already "In circuit"');
    expect(page.bench.state.session.keys.letters.toggle).toBe('x');

    await userEvent.click(card.querySelector('input[type="checkbox"]')!);
    const before = page.actions.length;
    for (const key of ['x', 'c', 'i', 'o', 'l', 't', 'h', 'g']) press(key, {}, document.body);
    expect(page.actions.length).toBe(before);
    press(' ', {}, document.body);
    expect(live().playing).toBe(true);
  });
});

describe('undo, redo, freeze', () => {
  it('have their keys', async () => {
    page.bench.dispatch({ kind: 'stage-in-out', stageKey: 's1', inCircuit: false });
    await userEvent.keyboard('{Control>}z{/Control}');
    expect(page.bench.state.setting.path.stages[0]!.inCircuit).toBe(true);
    await userEvent.keyboard('{Control>}{Shift>}Z{/Shift}{/Control}');
    expect(page.bench.state.setting.path.stages[0]!.inCircuit).toBe(false);
    const event = press('s', { ctrlKey: true });
    expect(event.defaultPrevented).toBe(true);
    expect(page.actions.at(-1)?.kind).toBe('freeze');
  });
});
