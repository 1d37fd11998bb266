import { userEvent } from 'vitest/browser';
import { describe, expect, it, vi } from 'vitest';
import { stages } from '../../../dsp/stages/index.ts';
import { openingState } from '../../../ui/page/opening.ts';
import { allDeep, deep, frames, loops, mountPage, mountPlayingPage, press } from '../page/support.ts';
import type { MountedPage } from '../page/support.ts';
import { button, coarsePointer, finger, middleOf, mounted, mouse, OutputTap, peakOf, settingOf, within } from './support.ts';

const tenKinds = Array.from({ length: 10 }, (_, index) => stages[index % stages.length]!.id);

async function tenStages(width: number, height: number): Promise<MountedPage> {
  const opening = openingState(loops);
  return mounted(mountPage({ ...opening, setting: settingOf(tenKinds), session: { ...opening.session, openStageKey: 's1' } }, width, height));
}

const orderOf = (page: MountedPage) => page.bench.state.setting.path.stages.map(({ key }) => key).join(' ');
const cells = () => allDeep('ol button', deep('path-strip').shadowRoot!).filter((element) => !element.matches('.switch'));

describe('the order of the path by mouse', () => {
  it.each([[1280, 800], [640, 800], [390, 844]])('is changed at %i × %i by dragging a cell, as one step, and a click still opens a stage', async (width, height) => {
    const page = await tenStages(width, height);
    const begun = orderOf(page);
    const from = middleOf(cells()[2]!);
    const to = middleOf(cells()[7]!);
    await mouse.press(from.x, from.y);
    for (const share of [0.02, 0.3, 0.7, 1]) await mouse.move(from.x + share * (to.x - from.x) + 3 * share, from.y + share * (to.y - from.y));
    await frames(3);
    expect(allDeep('.lifted', deep('path-strip').shadowRoot!)).toHaveLength(1);
    expect(orderOf(page), 'nothing is moved before it is let go').toBe(begun);
    await mouse.release(to.x + 3, to.y);
    await frames(3);
    expect(orderOf(page)).toBe('s1 s2 s4 s5 s6 s7 s8 s3 s9 s10');
    expect(page.bench.state.session.openStageKey, 'the drag is no click').toBe('s1');
    page.bench.dispatch({ kind: 'undo' });
    expect(orderOf(page)).toBe(begun);
    expect(page.bench.state.live.canUndo).toBe(false);
    await frames(3);
    const fifth = middleOf(cells()[4]!);
    await mouse.press(fifth.x, fifth.y);
    await mouse.release(fifth.x, fifth.y);
    await vi.waitFor(() => expect(page.bench.state.session.openStageKey).toBe('s5'), within);
  });
});

describe('the order of the path by finger', () => {
  it('is changed by a sideways drag on the narrow page, which stands still meanwhile; insert and remove are buttons of 44 px', async () => {
    await coarsePointer();
    const page = await tenStages(390, 844);
    const scrolled = scrollY;
    const from = middleOf(cells()[8]!);
    const to = middleOf(cells()[1]!);
    await finger([[from.x, from.y], [from.x - 14, from.y], [from.x - 60, from.y + 1], [to.x + 30, to.y + 2], [to.x - 4, to.y + 2]]);
    await frames(3);
    expect(orderOf(page)).toBe('s1 s9 s2 s3 s4 s5 s6 s7 s8 s10');
    expect(scrollY).toBe(scrolled);

    await userEvent.click(button('All…'));
    await page.settle();
    await userEvent.click(button('Change path'));
    await page.settle();
    for (const each of allDeep('button', deep('path-editor').shadowRoot!)) expect(each.getBoundingClientRect().height, each.textContent!).toBeGreaterThanOrEqual(44);
    await userEvent.click(button('Remove'));
    await page.settle();
    expect(orderOf(page)).toBe('s9 s2 s3 s4 s5 s6 s7 s8 s10');
    await userEvent.click(button('Insert before'));
    await page.settle();
    const choices = allDeep('[data-stage]', deep('stage-chooser').shadowRoot!);
    expect(choices).toHaveLength(stages.length);
    for (const each of choices) expect(each.getBoundingClientRect().height).toBeGreaterThanOrEqual(44);
    const chosen = choices.find((each) => each.dataset['stage'] === 'push-pull')!;
    chosen.scrollIntoView({ block: 'center' });
    await frames(3);
    await userEvent.click(chosen);
    await page.settle();
    expect(page.bench.state.setting.path.stages.map(({ stage }) => stage)[0]).toBe('push-pull');
    expect(document.documentElement.scrollWidth - document.documentElement.clientWidth).toBe(0);
  });
});

describe('the order of the path while it plays', () => {
  it('changes under one crossfade: no silence, no click louder than the music', async () => {
    const tap = new OutputTap();
    const page = await mounted(mountPlayingPage());
    const live = () => page.bench.state.live;
    press(' ');
    await tap.untilSounding(1e-3);
    const begun = tap.nowFrame;
    for (const action of [
      { kind: 'insert-stage', stage: 'single-ended-field-effect', atIndex: 1 }, { kind: 'move-stage', stageKey: 's1', toIndex: 2 }, { kind: 'remove-stage', stageKey: 's1' },
    ] as const) {
      page.bench.dispatch(action);
      const { revision } = live();
      await vi.waitFor(() => expect(live().soundingRevision).toBe(revision), within);
      expect(live().fault).toBeNull();
    }
    const heard = await tap.samples(begun, tap.nowFrame);
    press('Escape');
    // Monitor at −20 dB: music peaks under full scale there; a step from one path to another would stand out of the samples beside it.
    expect(peakOf(heard)).toBeLessThan(0.15);
    let silent = 0;
    let longest = 0;
    for (const sample of heard) {
      silent = sample === 0 ? silent + 1 : 0;
      longest = Math.max(longest, silent);
    }
    // In 128 frames of exact silence the processor would have dropped a block.
    expect(longest).toBeLessThan(128);
  });
});
