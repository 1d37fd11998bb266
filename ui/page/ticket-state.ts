/** Notes that pin a moment, and the ticket that is open. Types only. */
import type { Ticket, Verdict } from '../../dsp/setting/index.ts';

export interface OpenTicket {
  readonly ticket: Ticket;
  readonly fileName: string;
  /** Index of the entry whose setting was put on the bench last. */
  readonly entry: number;
  readonly sound: TicketSound;
}

/** Whether the moment that a ticket speaks of can be heard here. */
export type TicketSound =
  | { readonly kind: 'looking' }
  | { readonly kind: 'there' }
  /** The excerpt that came with the ticket stands for it. */
  | { readonly kind: 'excerpt' }
  | { readonly kind: 'missing'; readonly sentence: string };

export type TicketAction =
  /** Region and setting of a note, as one step of the history. */
  | { readonly kind: 'back-to-note'; readonly index: number }
  | { readonly kind: 'drop-note'; readonly index: number }
  /** The note as a file; with what is heard in its region, where that is asked for. */
  | { readonly kind: 'send-note'; readonly index: number; readonly withExcerpt: boolean }
  | { readonly kind: 'open-ticket'; readonly text: string; readonly fileName: string }
  /** The setting of one of its entries onto the bench. */
  | { readonly kind: 'ticket-entry'; readonly index: number }
  /** With the setting on the bench; the file is written again. */
  | { readonly kind: 'answer-ticket'; readonly words: string; readonly verdict: Verdict | null }
  | { readonly kind: 'close-ticket' }
  /** As it was kept between visits, not looked at; the setting is the autosave's affair. */
  | { readonly kind: 'ticket-restored'; readonly stored: unknown }
  // answers of the engine
  | { readonly kind: 'ticket-sound'; readonly sound: TicketSound };
