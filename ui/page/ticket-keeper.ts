/** Keeps the open ticket in this browser, so that a reload does not close it. Its excerpt may be long: it is not part of the autosave. */
import { writeTicket } from '../../dsp/setting/index.ts';
import type { Bench } from './bench.ts';
import { storeDelete, storeGet, storeSet } from './store.ts';

const key = 'open';

/** @returns the way to stop */
export function keepTicket(bench: Bench): () => void {
  /** Nothing is written over what has not been read yet. */
  let restored = false;
  const unsubscribe = bench.subscribe((before, after) => {
    const { ticket, ownsAutosave } = after.live;
    const same = ticket?.ticket === before.live.ticket?.ticket && ticket?.entry === before.live.ticket?.entry;
    if (same || !restored || !ownsAutosave) return;
    // A ticket that cannot be kept is open as long as the page; its file is there still.
    (ticket ? storeSet('tickets', key, { text: writeTicket(ticket.ticket), fileName: ticket.fileName, entry: ticket.entry }) : storeDelete('tickets', key)).catch(() => undefined);
  });
  void storeGet('tickets', key).catch(() => undefined).then((stored) => {
    restored = true;
    if (stored !== undefined) bench.dispatch({ kind: 'ticket-restored', stored });
  });
  return unsubscribe;
}
