import { userEvent } from 'vitest/browser';
import { describe, expect, it, vi } from 'vitest';
import { defaultValues, stageById, stages } from '../../../dsp/stages/index.ts';
import type { NumberParameter, Quantity, StageDefinition } from '../../../dsp/stages/index.ts';
import { parseSetting, writeSetting } from '../../../dsp/setting/index.ts';
import { openingState } from '../../../ui/page/opening.ts';
import { deep, focused, frames, loops, mountPage, mountPlayingPage, press } from '../page/support.ts';
import { editorOf, middleOf, mounted, mouse, OutputTap, peakOf, rateHz, settingOf, spinOf, valueOf, within } from '../journeys/support.ts';

const shownOf = (stage: StageDefinition) => stage.relevant?.(defaultValues(stage)) ?? stage.parameters.map(({ id }) => id);

/** The first value of each quantity that any stage has and shows. */
const subjects = [...new Map(stages.toReversed().flatMap((stage) => stage.parameters.filter(({ id }) => shownOf(stage).includes(id)).toReversed()
  .flatMap((parameter) => (parameter.kind === 'number' ? [[parameter.quantity, { stage: stage.id, parameter }] as const] : [])))).entries()]
  .map(([quantity, subject]) => [quantity, subject.stage, subject.parameter.id, subject.parameter] as const);

/** IEC 60063:2015, series E24. */
const e24 = [1, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2, 2.2, 2.4, 2.7, 3, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1];
const inSeries: readonly Quantity[] = ['resistance', 'capacitance', 'inductance', 'current', 'frequency', 'time'];
const inDecibels: readonly Quantity[] = ['level', 'gain', 'harmonic-amount'];

function nextPreferred(value: number): number {
  const decade = 10 ** Math.floor(Math.log10(value) + 1e-9);
  return decade * (e24.find((figure) => figure > value / decade * (1 + 1e-6)) ?? 10);
}

/** What each key does from `value`, by the table of quantities; the limits hold. */
function expectedSteps(value: number, { quantity, step, minimum, maximum }: NumberParameter): Readonly<Record<'arrow' | 'shift' | 'page', number>> {
  const steps = inSeries.includes(quantity) ? { arrow: nextPreferred(value), shift: value * 1.01, page: value * 10 }
    : inDecibels.includes(quantity) ? { arrow: value + 0.5, shift: value + 0.1, page: value + 6 }
      : { arrow: value + step, shift: value + step / 10, page: value + 10 * step };
  const held = (wanted: number) => Math.min(maximum, Math.max(minimum, wanted));
  return { arrow: held(steps.arrow), shift: held(steps.shift), page: held(steps.page) };
}

/** Where the written figure has four digits, so has the value: 0.06 % is within the fourth. */
const close = (actual: number, expected: number) => Math.abs(actual - expected) <= 6e-4 * Math.abs(expected) + 1e-12;

/** As many letters as name the unit, but for decibels, where the number is enough. */
const typedOf: Readonly<Partial<Record<Quantity, readonly [text: string, share: number]>>> = {
  resistance: ['4k7', 4700], capacitance: ['2u2', 2.2e-6], current: ['3.3 mA', 3.3e-3], frequency: ['12,5 kHz', 12_500], level: ['1 V', 2.218487496163563], gain: ['+3', 3],
  'harmonic-amount': ['0.2 %', -53.97940008672037], voltage: ['12V5', 12.5],
  'resistance-per-length': ['68m', 0.068], 'capacitance-per-length': ['68 pF/m', 68e-12], length: ['47 m', 47],
};

describe('J3: one value of each quantity', () => {
  it('finds a value of every quantity the stages show', () => {
    expect(subjects.map(([quantity]) => quantity).toSorted()).toEqual([...new Set(stages.flatMap((stage) => stage.parameters.flatMap((parameter) => (parameter.kind === 'number' && shownOf(stage).includes(parameter.id) ? [parameter.quantity] : []))))].toSorted());
    expect(subjects.length).toBeGreaterThanOrEqual(9);
  });

  it.each(subjects)('%s (%s, %s) is typed, stepped, dragged, restored, undone, redone and frozen', async (quantity, stage, id, parameter) => {
    const opening = openingState(loops);
    const setting = settingOf([stage]);
    const page = await mounted(mountPage({ ...opening, setting, session: { ...opening.session, openStageKey: 's1' } }));
    const value = () => valueOf(page, 's1', id) as number;
    const expectValue = (expected: number, what: string) => expect(close(value(), expected), `${what}: expected ${expected}, got ${value()}`).toBe(true);
    const back = async () => {
      await userEvent.keyboard('{Backspace}');
      expect(value(), 'Backspace restores the default').toBe(parameter.default);
    };
    spinOf(id).focus();

    const steps = expectedSteps(parameter.default, parameter);
    await userEvent.keyboard('{ArrowUp}');
    expectValue(steps.arrow, 'arrow up');
    await back();
    await userEvent.keyboard('{Shift>}{ArrowRight}{/Shift}');
    expectValue(steps.shift, 'Shift and arrow');
    await userEvent.keyboard('{Shift>}{ArrowLeft}{/Shift}');
    expectValue(parameter.default, 'Shift and arrow back');
    await back();
    await userEvent.keyboard('{PageUp}');
    expectValue(steps.page, 'Page up');
    await back();
    for (const [key, limit, further] of [['{Home}', parameter.minimum, '{ArrowDown}{PageDown}'], ['{End}', parameter.maximum, '{ArrowUp}{PageUp}']] as const) {
      await userEvent.keyboard(key);
      const refusal = stageById(stage).refuse({ ...setting.path.stages[0]!.values, [id]: limit });
      if (refusal === null) {
        expect(value(), key).toBe(limit);
        await userEvent.keyboard(further);
        expect(value(), 'no further than the limit').toBe(limit);
      } else {
        // In its range, but not beside the stage's other values: the old one is kept and the reason said.
        expect(value(), key).toBe(parameter.default);
        await page.settle();
        expect(deep('.error', editorOf(id).shadowRoot!).textContent).toBe(refusal);
      }
      await back();
    }

    // What was typed is heard of on Enter alone; Enter gives the focus back.
    const [text, typed] = typedOf[quantity] ?? [`${parameter.minimum + (parameter.maximum - parameter.minimum) / 4}`, parameter.minimum + (parameter.maximum - parameter.minimum) / 4];
    const inside = Math.min(parameter.maximum, Math.max(parameter.minimum, typed)) === typed;
    expect(inside, `${text} lies in the range of ${id}`).toBe(true);
    await userEvent.keyboard('{Enter}');
    await page.settle();
    await userEvent.keyboard(text);
    expect(value()).toBe(parameter.default);
    await userEvent.keyboard('{Enter}');
    expectValue(typed, 'typed');
    await page.settle();
    expect(focused()).toBe(spinOf(id));
    await back();

    // A drag: 300 px are the whole range; right and up are more; one entry of undo.
    press('z', { ctrlKey: true });
    expectValue(typed, 'undone');
    press('z', { ctrlKey: true, shiftKey: true });
    expect(value(), 'redone').toBe(parameter.default);
    await page.settle();
    const { x, y } = middleOf(spinOf(id));
    await mouse.press(x, y);
    await mouse.move(x - 2, y);
    expect(value(), 'a press is no drag').toBe(parameter.default);
    const away = 2 * parameter.default < parameter.minimum + parameter.maximum || parameter.taper === 'logarithmic' ? 1 : -1;
    for (const by of [8, 16, 24]) await mouse.move(x + away * by, y);
    const dragged = value();
    expect(away * (dragged - parameter.default)).toBeGreaterThan(0);
    await mouse.move(x + away * 24, y - away * 12);
    expect(away * (value() - dragged), 'up is more').toBeGreaterThan(0);
    await mouse.release(x + away * 24, y - away * 12);
    const kept = value();
    press('z', { ctrlKey: true });
    expect(value(), 'one drag is one entry').toBe(parameter.default);
    press('z', { ctrlKey: true, shiftKey: true });
    expect(value()).toBe(kept);

    const frozen = writeSetting(page.bench.state.setting);
    expect(parseSetting(frozen).path.stages[0]!.values[id], 'the file holds what the page shows, to the bit').toBe(kept);
    expect(spinOf(id).getAttribute('aria-valuetext')).toMatch(/, changed, default /);
  });
});

/** Stage, value, text, and a piece of the sentence that refuses it. */
const refused: readonly (readonly [parameter: string, text: string, words: RegExp])[] = [
  ['emitterOhms', '4x7', /is not a number with a unit/], ['emitterOhms', '1,000', /ambiguous/], ['emitterOhms', '1.2.3', /is not a number/], ['emitterOhms', '--5', /is not a number/],
  ['emitterOhms', '1 0', /is not a number/], ['emitterOhms', '+', /is not a number|nothing/], ['emitterOhms', '10 µF', /is in F/], ['emitterOhms', '4k7k', /mark and a prefix/],
  ['emitterOhms', '-5', /below/], ['emitterOhms', '1e999', /too large/], ['emitterOhms', '10 kΩ', /above/], ['emitterOhms', '0', /below/],
  ['quiescentAmperes', '3 V', /is in V/], ['quiescentAmperes', '2.6 A', /above/], ['quiescentAmperes', '1 nA', /below/],
  ['railVolts', '200', /above/], ['railVolts', '12 Hz', /is in Hz/],
  ['makeUpDb', '3k', /prefix/], ['makeUpDb', '50 %', /is in %/], ['makeUpDb', '1 dBu', /./], ['driveDb', '99', /above/], ['betaRatio', '1 Ω', /has no unit|is in Ω/],
];

describe('J4: refused entries', () => {
  it(`leave setting, history and sound as they were (${refused.length} entries)`, async () => {
    const page = await mounted(mountPage());
    const before = page.bench.state.setting;
    const { revision } = page.bench.state.live;
    for (const [parameter, text, words] of refused) {
      spinOf(parameter).focus();
      await userEvent.keyboard('{Enter}');
      await page.settle();
      const field = deep<HTMLInputElement>('input', editorOf(parameter).shadowRoot!);
      await userEvent.fill(field, text);
      await userEvent.keyboard('{Enter}');
      await page.settle();
      const spin = spinOf(parameter);
      const sentence = deep('.error', editorOf(parameter).shadowRoot!).textContent!;
      expect(sentence, text).toMatch(words);
      expect(sentence, `${text}: what is kept, or what was meant`).toMatch(/Kept .+\.$|Did you mean .+\?$/);
      expect(spin.getAttribute('aria-invalid'), text).toBe('true');
      expect((spin.getRootNode() as ShadowRoot).getElementById(spin.getAttribute('aria-errormessage')!)?.textContent).toBe(sentence);
      expect(page.bench.state.setting, text).toBe(before);
    }
    // The path, and with it every program and plan, is the very object it was: nothing was asked of the worker.
    expect(page.bench.state.live).toMatchObject({ revision, canUndo: false, changedSinceFrozen: false });
    // The next good entry takes the words away.
    spinOf('betaRatio').focus();
    await userEvent.keyboard('{ArrowUp}');
    await page.settle();
    expect(editorOf('betaRatio').shadowRoot!.querySelector('.error')).toBeNull();
  });
});

describe('J5: dialling while it plays', () => {
  it('sounds on for ten seconds of dragging, as one undo step, without a sample unsolved', async ({ annotate }) => {
    const wrong: string[] = [];
    const note = (event: ErrorEvent | PromiseRejectionEvent) => wrong.push(event instanceof ErrorEvent ? event.message : String(event.reason));
    addEventListener('error', note);
    addEventListener('unhandledrejection', note);
    const tap = new OutputTap();
    const page = await mounted(mountPlayingPage());
    const live = () => page.bench.state.live;
    page.bench.dispatch({ kind: 'region', region: { startSeconds: 0, endSeconds: 2 } });
    await vi.waitFor(() => expect(live().harmonics?.revision).toBe(live().revision), within);
    press(' ');
    await tap.untilSounding();
    const before = valueOf(page, 's2', 'quiescentAmperes');
    const { x, y } = middleOf(spinOf('quiescentAmperes'));
    const begun = tap.nowFrame;
    const from = performance.now();
    await mouse.press(x, y);
    let moves = 0;
    const heard = new Set<number>();
    while (performance.now() - from < 10_000) {
      const turn = (performance.now() - from) / 10_000;
      await mouse.move(x + 10 + 130 * Math.sin(9 * Math.PI * turn) ** 2, y);
      heard.add(live().soundingRevision);
      moves += 1;
      await frames(1);
    }
    await mouse.move(x + 60, y);
    await mouse.release(x + 60, y);
    const { revision } = live();
    await vi.waitFor(() => expect(live().soundingRevision).toBe(revision), within);
    await vi.waitFor(() => expect(live().harmonics?.revision).toBe(revision), within);
    expect(moves).toBeGreaterThan(20);
    expect(heard.size, 'values heard on the way').toBeGreaterThan(10);

    // Never silent for the length of a bar: 400 ms without a sample above −100 dBFS would be a hole.
    const samples = await tap.samples(begun, begun + 8 * rateHz);
    for (let at = 0; at < samples.length; at += 0.4 * rateHz) expect(peakOf(samples.subarray(at, at + 0.4 * rateHz)), `${at / rateHz} s`).toBeGreaterThan(1e-5);
    expect(samples.every(Number.isFinite)).toBe(true);

    await vi.waitFor(() => expect(live().solver.meanEvaluations).toBeGreaterThan(0), within);
    expect(live().solver.capHits).toBe(0);
    await annotate(`${moves} movements, ${heard.size} revisions heard, ${page.readings.lateBlocks} late blocks, load ${Math.round(100 * page.readings.audioLoad)} %, rescues ${live().solver.rescues}`);
    expect(valueOf(page, 's2', 'quiescentAmperes')).not.toBe(before);
    press('z', { ctrlKey: true });
    expect(valueOf(page, 's2', 'quiescentAmperes')).toBe(before);
    expect(live().canUndo, 'the drag was one step').toBe(false);
    press('Escape');
    removeEventListener('error', note);
    removeEventListener('unhandledrejection', note);
    expect(wrong).toEqual([]);
  });
});
