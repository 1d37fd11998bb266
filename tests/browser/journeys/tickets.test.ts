import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { parseTicket, writeSetting } from '../../../dsp/setting/index.ts';
import type { Setting } from '../../../dsp/setting/index.ts';
import { storeGet } from '../../../ui/page/store.ts';
import { keepTicket } from '../../../ui/page/ticket-keeper.ts';
import { makeBench } from '../../page/support.ts';
import { deep, mountPlayingPage, savedFiles } from '../page/support.ts';
import type { MountedPage, SavedFile } from '../page/support.ts';
import { within } from './support.ts';

const region = { startSeconds: 1.25, endSeconds: 2.5 };
let saved: SavedFile[];

beforeEach(() => { saved = savedFiles(); });
afterEach(() => void vi.restoreAllMocks());

/** The bytes of what plays: a setting without its title and notes. */
const pathBytes = (setting: Setting) => writeSetting({ ...setting, title: '', notes: [], rules: null, joints: null, levelMatch: null });

/** Words and a verdict into the form within this element. */
async function say(page: MountedPage, within: string, words: string, verdict: string): Promise<void> {
  const form = deep('verdict-form', deep(within).shadowRoot!).shadowRoot!;
  form.querySelector('textarea')!.value = words;
  form.querySelector<HTMLInputElement>(`input[value="${verdict}"]`)!.click();
  form.querySelector<HTMLButtonElement>('button[type="submit"]')!.click();
  await page.settle();
}

describe('a ticket from bench to bench', () => {
  it('pins the moment, is heard elsewhere as it was heard here, answered, and holds both', async () => {
    const first = await mountPlayingPage();
    first.bench.dispatch({ kind: 'loop', loop: 'held-chord' });
    first.bench.dispatch({ kind: 'region', region });
    first.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'quiescentAmperes', value: 0.012, phase: 'end' });
    await vi.waitFor(() => {
      const { live } = first.bench.state;
      expect(live.harmonics?.revision).toBe(live.revision);
      expect(live.programme?.title).toContain('chord');
    }, within);
    await say(first, 'notes-block', 'hard on the decay', 'not yet');
    const pinned = pathBytes(first.bench.state.setting);
    [...deep('notes-block').shadowRoot!.querySelectorAll('button')].find((button) => button.textContent === 'Send')!.click();
    await vi.waitFor(() => expect(saved).toHaveLength(1), within);
    await first.remove();

    const second = await mountPlayingPage();
    const stopKeeping = keepTicket(second.bench);
    try {
      expect(pathBytes(second.bench.state.setting)).not.toBe(pinned);
      const transfer = new DataTransfer();
      transfer.items.add(new File([saved[0]!.blob], saved[0]!.name, { type: 'application/json' }));
      document.body.dispatchEvent(new DragEvent('drop', { dataTransfer: transfer, bubbles: true, composed: true, cancelable: true }));
      await vi.waitFor(() => expect(second.bench.state.live.ticket?.sound.kind).toBe('there'), within);
      await second.settle();
      expect(pathBytes(second.bench.state.setting)).toBe(pinned);
      expect(second.bench.state.session).toMatchObject({ loop: 'held-chord', region });
      const slip = deep('ticket-slip').shadowRoot!;
      expect(slip.textContent).toContain('hard on the decay');
      expect(slip.querySelector('.verdict')!.textContent).toBe('not yet');
      expect(deep('ticket-slip').getBoundingClientRect().bottom, 'above the drawing').toBeLessThanOrEqual(deep('stage-sheet').getBoundingClientRect().top);

      second.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'quiescentAmperes', value: 0.02, phase: 'end' });
      await second.settle();
      expect(slip.querySelector('.changes')!.textContent!.replace(/\s+/g, ' ')).toContain('2 push-pull IQ 20 mA was 12 mA');
      await say(second, 'ticket-slip', 'better?', 'right');
      await vi.waitFor(() => expect(saved).toHaveLength(2), within);
      const { entries } = parseTicket(await saved[1]!.blob.text());
      expect(entries.map(({ words, verdict }) => [words, verdict])).toEqual([['hard on the decay', 'not yet'], ['better?', 'right']]);
      expect(entries.map(({ made }) => made.setting.path.stages[1]!.values['quiescentAmperes'])).toEqual([0.012, 0.02]);
      expect(entries[0]!.measurement?.orders.length).toBeGreaterThan(3);

      // A reload: the ticket is open as it was left; closed, it stays closed.
      await vi.waitFor(async () => expect(await storeGet('tickets', 'open')).toMatchObject({ entry: 1 }), within);
      const later = makeBench().bench;
      const stopLater = keepTicket(later);
      await vi.waitFor(() => expect(later.state.live.ticket?.ticket.entries).toHaveLength(2), within);
      later.dispatch({ kind: 'close-ticket' });
      await vi.waitFor(async () => expect(await storeGet('tickets', 'open')).toBeUndefined(), within);
      stopLater();
      second.bench.dispatch({ kind: 'undo' });
      second.bench.dispatch({ kind: 'undo' });
      expect(second.bench.state.setting.path.stages[1]!.values['quiescentAmperes'], 'opened in one step').toBe(0.00015);
    } finally {
      stopKeeping();
      await second.remove();
    }
  });
});
