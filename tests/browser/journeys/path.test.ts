import { page as view, userEvent } from 'vitest/browser';
import { describe, expect, it, vi } from 'vitest';
import { measurePath, probePeakVolts } from '../../../dsp/measure/index.ts';
import { planPath } from '../../../dsp/path/index.ts';
import { parseSetting, writeSetting } from '../../../dsp/setting/index.ts';
import { stageById, stages } from '../../../dsp/stages/index.ts';
import { openingState } from '../../../ui/page/opening.ts';
import { allDeep, deep, focused, frames, loops, mountPage, mountPlayingPage, press } from '../page/support.ts';
import { button, mounted, settingOf, spinOf, valueOf, within } from './support.ts';

/** Ten stages that are soon planned; no two circuits side by side, which the probe might join: a level stands between any two. */
const tenQuickKinds = Array.from({ length: 10 }, (_, index) => (['single-ended-bipolar', 'harmonic-shaping', 'single-ended-valve', 'equaliser', 'push-pull', 'harmonic-shaping'] as const)[index % 6]!);

/** They are planned, ruled, matched and measured by workers that have just begun, on cores that others use. */
const withTen = { ...within, timeout: 90_000 };

const tenKinds = Array.from({ length: 10 }, (_, index) => stages[index % stages.length]!.id);

describe('J10: a path of ten stages', () => {
  it.each([[1280, 800, 'wide'], [640, 800, 'docked'], [390, 844, 'narrow']] as const)('at %i × %i is opened, reordered, cut and restored by keyboard', async (width, height, shape) => {
    const opening = openingState(loops);
    const setting = settingOf(tenKinds);
    const page = await mounted(mountPage({ ...opening, setting, session: { ...opening.session, openStageKey: 's1' } }, width, height));
    const strip = deep('path-strip').shadowRoot!;
    const order = () => page.bench.state.setting.path.stages.map(({ key }) => key).join(' ');
    const begun = order();
    expect(page.root.shape).toBe(shape);
    expect(document.documentElement.scrollWidth - document.documentElement.clientWidth, 'sideways').toBe(0);
    const cells = () => allDeep('ol button', strip).filter((element) => !element.matches('.switch'));
    expect(cells()).toHaveLength(10);
    for (const cell of cells()) {
      const { left, right, width: wide } = cell.getBoundingClientRect();
      expect(left >= 0 && right <= width + 0.5 && wide >= 24, `cell ${left}–${right}`).toBe(true);
    }

    // Tab comes to the path once, arrows go along it.
    deep('title-line').focus();
    (document.activeElement as HTMLElement | null)?.blur();
    for (let stop = 0; stop < 15 && !cells().includes(focused() as HTMLElement); stop += 1) await userEvent.tab();
    expect(focused()).toBe(cells()[0]);
    await userEvent.keyboard('{ArrowRight}{ArrowRight}{ArrowRight}');
    await page.settle();
    expect(focused()).toBe(cells()[3]);
    await userEvent.keyboard('{Enter}');
    await page.settle();
    expect(page.bench.state.session.openStageKey).toBe('s4');
    expect(cells()[3]!.getAttribute('aria-current')).toBe('true');
    expect(allDeep('h2', deep('stage-sheet').shadowRoot!)[0]!.textContent).toContain(`4 ${stageById(tenKinds[3]!).title}`);

    await userEvent.keyboard('{Shift>}{ArrowRight}{/Shift}');
    await page.settle();
    expect(order()).toBe('s1 s2 s3 s5 s4 s6 s7 s8 s9 s10');
    expect(focused(), 'the focus goes with the stage').toBe(cells()[4]);
    await userEvent.keyboard('{Shift>}{ArrowLeft}{/Shift}');
    await page.settle();
    expect(order()).toBe(begun);
    await userEvent.keyboard('{End}{Delete}');
    await page.settle();
    expect(order()).toBe('s1 s2 s3 s4 s5 s6 s7 s8 s9');
    expect(cells()).toHaveLength(9);
    expect(cells().includes(focused() as HTMLElement), 'the focus stays in the path').toBe(true);
    await userEvent.keyboard('{Control>}z{/Control}');
    await page.settle();
    expect(order()).toBe(begun);
    await userEvent.keyboard('{Control>}zz{/Control}');
    expect(order()).toBe(begun);
    expect(page.bench.state.live.canUndo).toBe(false);

    // At ten an insertion is refused in words; with nine it is chosen by keys, is one step, and takes the focus.
    await userEvent.keyboard('{Home}{Insert}');
    await page.settle();
    expect(deep('path-editor').shadowRoot!.querySelector('[role="alert"]')!.textContent).toContain('The path holds 10 stages');
    expect(order()).toBe(begun);
    cells()[0]!.focus();
    await userEvent.keyboard('{Delete}{Insert}');
    const chosen = () => focused()?.getAttribute('data-stage');
    await vi.waitFor(() => expect(chosen()).toBe(stages[0]!.id), within);
    await userEvent.keyboard('{End}{Enter}');
    await page.settle();
    const { path } = page.bench.state.setting;
    expect(path.stages).toHaveLength(10);
    expect(path.stages[1]!.stage).toBe('harmonic-shaping');
    expect(focused()).toBe(cells()[1]);
    await userEvent.keyboard('{Control>}z{/Control}');
    expect(order()).toBe('s2 s3 s4 s5 s6 s7 s8 s9 s10');
    await userEvent.keyboard('{Control>}z{/Control}');
    expect(order()).toBe(begun);
    expect(page.bench.state.live.canUndo).toBe(false);
    expect(document.documentElement.scrollWidth - document.documentElement.clientWidth, 'sideways').toBe(0);
  });

  it('is measured and heard as it stands after the keys', async () => {
    const page = await mounted(mountPlayingPage());
    const live = () => page.bench.state.live;
    page.bench.dispatch({ kind: 'thaw', text: writeSetting(settingOf(tenQuickKinds, 'ten stages')), fileName: 'ten.json' });
    // What the match runs through ten stages.
    page.bench.dispatch({ kind: 'region', region: { startSeconds: 0.5, endSeconds: 1 } });
    expect(page.bench.state.setting.path.stages).toHaveLength(10);
    press(' ');
    await vi.waitFor(() => expect(live().harmonics?.revision).toBe(live().revision), withTen);
    expect(live().harmonics?.refusal).toBeNull();
    const first = live().harmonics!.fundamentalDbu;
    const last = page.bench.state.setting.path.stages.at(-1)!.key;
    page.bench.dispatch({ kind: 'move-stage', stageKey: last, toIndex: 0 });
    page.bench.dispatch({ kind: 'stage-in-out', stageKey: last, inCircuit: false });
    const { revision } = live();
    await vi.waitFor(() => expect(live().harmonics?.revision).toBe(revision), withTen);
    await vi.waitFor(() => expect(live().soundingRevision).toBe(revision), withTen);
    expect(live().fault).toBeNull();
    expect(live().harmonics!.fundamentalDbu).not.toBe(first);
    // After the probe's verdicts too.
    await vi.waitFor(() => expect(page.bench.state.setting.joints).not.toBeNull(), withTen);
    await vi.waitFor(() => expect(live()).toMatchObject({ harmonics: { revision: live().revision }, soundingRevision: live().revision }), withTen);
    await vi.waitFor(() => expect(Object.keys(live().jointLevelsDbu)).toHaveLength(9), withTen);
    await page.settle();
    expect(allDeep('.switch', deep('path-strip').shadowRoot!)[0]!.textContent).toMatch(/^out/);
    press('Escape');
  }, 200_000);
});

describe('J11: the probe', () => {
  it('is changed in frequency and level; the ledger shows the worker’s numbers, which are those of the frozen file', async () => {
    const page = await mounted(mountPlayingPage());
    const live = () => page.bench.state.live;
    const ledger = deep('harmonic-ledger').shadowRoot!;
    const probe = async (parameter: string, text: string) => {
      const editor = deep(`value-editor[data-parameter="${parameter}"]`, ledger);
      editor.focus();
      await userEvent.keyboard('{Enter}');
      await page.settle();
      await userEvent.keyboard(text);
      await userEvent.keyboard('{Enter}');
      await page.settle();
    };
    // The probe's verdicts are part of the setting, and of what is measured.
    await vi.waitFor(() => expect(page.bench.state.setting.joints).not.toBeNull(), within);
    for (const [hz, frequencyText, dbu, levelText] of [[200, '200', 4, '+4'], [1000, '1k', 10, '+10 dBu'], [5000, '5 kHz', -6, '-6']] as const) {
      await probe('frequencyHz', frequencyText);
      await probe('levelDbu', levelText);
      expect(page.bench.state.session.probe).toEqual({ frequencyHz: hz, levelDbu: dbu });
      await vi.waitFor(() => expect(live().harmonics).toMatchObject({ levelDbu: dbu, revision: live().revision }), within);
      await vi.waitFor(() => expect(live().harmonics!.frequencyHz).toBeCloseTo(hz, -1), within);

      // What the command line does with a setting: parse, plan, measure.
      const { path, baseRateHz, joints } = parseSetting(writeSetting(page.bench.state.setting));
      const measured = measurePath(planPath(path, baseRateHz, { grade: 'measuring', joints }), { frequencyHz: hz, peakVolts: probePeakVolts(dbu), scope: { kind: 'path' } });
      if (measured.oscillates) throw new Error('the opening setting oscillates');
      // Figures of before the verdicts may stand a moment longer: those that are wanted come.
      const second = measured.harmonics.find(({ order }) => order === 2)!;
      await vi.waitFor(() => expect(Math.abs(live().harmonics!.figures.find(({ order }) => order === 2)!.db - second.db)).toBeLessThanOrEqual(1e-3), within);
      const shown = live().harmonics!;
      expect(shown.frequencyHz).toBe(measured.frequencyHz);
      // The worker begins from the solution before, the command line from rest: both stop at the solver's own tolerance.
      expect(Math.abs(shown.fundamentalDbu - measured.fundamentalDbu)).toBeLessThanOrEqual(1e-6);
      for (const { order, db } of measured.harmonics) {
        const figure = shown.figures.find((candidate) => candidate.order === order)!;
        if (db > -140) expect(Math.abs(figure.db - db), `H${order}: ${figure.db} dB on the page, ${db} dB from the file`).toBeLessThanOrEqual(1e-3);
        else if (db > -160) expect(Math.abs(figure.db - db), `H${order}`).toBeLessThanOrEqual(1);
      }
      expect(Math.abs(shown.thdPercentF - 100 * measured.thd.f)).toBeLessThanOrEqual(1e-6 * shown.thdPercentF);

      // And the rows say so, to the tenth of a decibel.
      await vi.waitFor(() => {
        const rows = allDeep('tbody tr', ledger);
        expect(rows).toHaveLength(9);
        for (const [index, { db }] of shown.figures.entries()) {
          const words = Number.isFinite(db) ? db.toFixed(1).replace('-', '−') : 'under −160';
          expect(rows[index]!.textContent, `H${index + 2}`).toContain(words);
        }
      }, within);
    }
  });
});

describe('going round the shapes', () => {
  it('keeps what is open, its value and its undo while the page is made narrower and wide again', async () => {
    const page = await mounted(mountPage());
    spinOf('emitterOhms').focus();
    await userEvent.keyboard('{ArrowUp}');
    const value = valueOf(page, 's2', 'emitterOhms');
    for (const [width, height] of [[800, 900], [390, 844], [640, 400], [1280, 800]] as const) {
      await view.viewport(width, height);
      await frames(6);
      expect(valueOf(page, 's2', 'emitterOhms')).toBe(value);
      expect(spinOf('emitterOhms').getAttribute('aria-valuenow')).toBe(String(value));
      expect(document.documentElement.scrollWidth - document.documentElement.clientWidth, `${width}`).toBe(0);
    }
    await userEvent.click(button('Undo'));
    expect(valueOf(page, 's2', 'emitterOhms')).toBe(10);
  });
});
