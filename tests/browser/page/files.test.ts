import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { openingSetting, writeSetting } from '../../../dsp/setting/index.ts';
import { autosaveKey, keepSaving, readStore, restoreAutosave } from '../../../ui/page/autosave.ts';
import { deep, loops, mountPage, savedFiles, wait } from './support.ts';
import type { MountedPage, SavedFile } from './support.ts';

let page: MountedPage;
beforeEach(async () => {
  localStorage.clear();
  page = await mountPage();
});
afterEach(() => {
  page.remove();
  vi.restoreAllMocks();
});

/** A frozen file that is not the opening setting. */
function otherText(): string {
  const setting = openingSetting();
  return writeSetting({ ...setting, title: 'after supper', path: { ...setting.path, fullScaleDbu: 18 } });
}

function transferOf(text: string, name = 'after-supper.setting.json'): DataTransfer {
  const transfer = new DataTransfer();
  transfer.items.add(new File([text], name, { type: 'application/json' }));
  return transfer;
}

async function drop(text: string, name?: string): Promise<DragEvent> {
  const event = new DragEvent('drop', { dataTransfer: transferOf(text, name), bubbles: true, cancelable: true });
  document.body.dispatchEvent(event);
  await wait(50);
  await page.settle();
  return event;
}

async function pick(text: string): Promise<void> {
  const picker = deep<HTMLInputElement>('#picker');
  picker.files = transferOf(text).files;
  picker.dispatchEvent(new Event('change'));
  await wait(50);
  await page.settle();
}

/** Presses Freeze and returns what the browser was asked to save. */
async function freeze(): Promise<{ name: string; text: string }> {
  const saved = savedFiles();
  page.bench.dispatch({ kind: 'freeze' });
  const [{ name, blob }] = saved as [SavedFile];
  return { name, text: await blob.text() };
}

describe('freeze and thaw', () => {
  it.each([['drop', drop], ['picker', pick]])('takes a file by %s and freezes it again to the same bytes', async (_way, thaw) => {
    const text = otherText();
    await thaw(text);
    await vi.waitFor(() => expect(page.bench.state.setting.title).toBe('after supper'));
    await page.settle();
    expect(deep<HTMLInputElement>('input[type="text"]', deep('title-line').shadowRoot!).value).toBe('after supper');
    expect(page.bench.state.live.changedSinceFrozen).toBe(false);
    const frozen = await freeze();
    expect(frozen.name).toBe('after-supper.setting.json');
    expect(frozen.text).toBe(text);
  });

  it('says "changed since frozen" from the first change to the next freeze', async () => {
    const title = () => deep('header', deep('title-line').shadowRoot!).textContent!;
    expect(title()).not.toContain('changed since frozen');
    page.bench.dispatch({ kind: 'stage-in-out', stageKey: 's1', inCircuit: false });
    await page.settle();
    expect(title()).toContain('changed since frozen');
    await freeze();
    await page.settle();
    expect(title()).not.toContain('changed since frozen');
  });

  it('keeps the browser from opening what is dropped, and changes nothing for a foreign file', async () => {
    const before = page.bench.state.setting;
    const event = await drop('\u0000RIFF not a setting', 'holiday <img src=x onerror=alert(1)>.wav');
    expect(event.defaultPrevented).toBe(true);
    expect(page.bench.state.setting).toBe(before);
    await wait(1000);
    const alert = deep('[role="alert"]', deep('state-line').shadowRoot!);
    expect(alert.textContent).toContain('was not thawed');
    expect(alert.querySelector('img')).toBeNull();
    await drop(`${' '.repeat(2_000_001)}`, 'long.json');
    expect(page.bench.state.live.message?.text).toBe('long.json was not thawed: expected a setting of at most 2 MB, got 3 MB.');
    expect(page.bench.state.setting).toBe(before);
  });

  it('lets text be dragged about as ever', () => {
    const transfer = new DataTransfer();
    transfer.setData('text/plain', 'x');
    const event = new DragEvent('dragover', { dataTransfer: transfer, bubbles: true, cancelable: true });
    document.body.dispatchEvent(event);
    expect(event.defaultPrevented).toBe(false);
  });
});

describe('autosave', () => {
  it('keeps all but the monitor level, and belongs to the first tab until that closes', async () => {
    const stopFirst = keepSaving(page.bench);
    await vi.waitFor(() => expect(page.actions.some(({ kind }) => kind === 'autosave-owner')).toBe(true));
    page.bench.dispatch({ kind: 'calibration', fullScaleDbu: 18 });
    page.bench.dispatch({ kind: 'monitor', monitorDb: -3 });
    page.bench.dispatch({ kind: 'open-stage', stageKey: 's1' });
    await vi.waitFor(() => expect(readStore()).not.toBeNull(), { timeout: 2000 });
    const stored = localStorage.getItem(autosaveKey)!;
    const { state } = restoreAutosave(stored, loops);
    expect(state.setting.path.fullScaleDbu).toBe(18);
    expect(state.session.openStageKey).toBe('s1');
    expect(state.live.monitorDb).toBe(-20);
    expect(stored).not.toContain('monitor');

    const second = await mountPage();
    const stopSecond = keepSaving(second.bench);
    await vi.waitFor(() => expect(second.bench.state.live.ownsAutosave).toBe(false));
    expect(second.bench.state.live.message?.text).toContain('open in another tab');
    second.bench.dispatch({ kind: 'rename', title: 'not to be kept' });
    await wait(600);
    expect(localStorage.getItem(autosaveKey)).toBe(stored);

    stopFirst();
    await vi.waitFor(() => expect(second.bench.state.live.ownsAutosave).toBe(true));
    second.bench.dispatch({ kind: 'rename', title: 'kept' });
    await vi.waitFor(() => expect(localStorage.getItem(autosaveKey)).toContain('kept'), { timeout: 2000 });
    stopSecond();
    second.remove();
  });

  it('saves at once when the page is left', async () => {
    const stop = keepSaving(page.bench);
    await vi.waitFor(() => expect(page.actions.some(({ kind }) => kind === 'autosave-owner')).toBe(true));
    page.bench.dispatch({ kind: 'rename', title: 'leaving' });
    expect(readStore()).toBeNull();
    dispatchEvent(new Event('pagehide'));
    expect(readStore()).toContain('leaving');
    stop();
  });
});
