/** Takes the bench to the moment that a note or a ticket speaks of, and hands tickets over as files. */
import { fileStem } from '../../documents/file-stem.ts';
import { excerptFile, writeTicket } from '../../../dsp/setting/index.ts';
import type { HeardProgramme, NotePin, Region, Ticket } from '../../../dsp/setting/index.ts';
import { sha256 } from '../../../dsp/math/index.ts';
import { regionFrames, regionSamples } from '../../../worklets/region-frames.ts';
import { download } from '../download.ts';
import { materialIdOf } from '../material-record.ts';
import { ticketOfNote } from '../reduce-ticket.ts';
import { excerptOffer } from '../ticket-excerpt.ts';
import type { TicketSound } from '../ticket-state.ts';
import type { Action, BenchState, LoopEntry } from '../state.ts';
import type { EngineContext, EnginePart } from './contract.ts';

/** What the bench is to be at once its recording is there. */
interface Wanted {
  readonly identifier: string;
  readonly sha256: string | null;
  readonly region: Region | null;
  readonly trimDb: number;
  /** How it is heard then. */
  readonly sound: TicketSound;
}

export class Tickets implements EnginePart {
  readonly #context: Pick<EngineContext, 'dispatch' | 'state' | 'programme'>;
  readonly #loops: readonly Pick<LoopEntry, 'identifier'>[];
  #wanted: Wanted | null = null;

  constructor(context: Pick<EngineContext, 'dispatch' | 'state' | 'programme'>, loops: readonly Pick<LoopEntry, 'identifier'>[]) {
    this.#context = context;
    this.#loops = loops;
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    switch (action.kind) {
      case 'back-to-note': {
        const pin = after.setting.notes[action.index]?.pin;
        if (pin) this.#hear(pin.programme, pin.region, null);
        return;
      }
      case 'open-ticket':
      case 'ticket-restored': {
        if (after.live.ticket === before.live.ticket) return;
        const { programme, region, excerptWav } = after.live.ticket!.ticket;
        this.#hear(programme, region, excerptWav);
        return;
      }
      case 'programme':
        this.#arrived(after);
        return;
      case 'send-note':
        this.#send(after, action.index, action.withExcerpt);
        return;
      case 'answer-ticket':
        if (after.live.ticket && after.live.ticket !== before.live.ticket) hand(after.live.ticket.ticket);
    }
  }

  /** The recording onto the bench where it is to be had, its region closed; or a word why not. */
  #hear(programme: HeardProgramme | null, region: Region | null, excerptWav: Uint8Array | null): void {
    const { dispatch, state } = this.#context;
    this.#wanted = null;
    if (programme === null) return this.#tell({ kind: 'missing', sentence: 'Nothing was loaded to be heard when this was written; the setting stands.' });
    const { identifier, trimDb, title } = programme;
    const { session, live } = state();
    const there: Wanted = { identifier, sha256: programme.sha256, region, trimDb, sound: { kind: 'there' } };
    if (session.loop === identifier && live.programme) return this.#settle(there);
    const known = live.material.known.find(({ id }) => id === identifier);
    if (this.#loops.some((loop) => loop.identifier === identifier) || known?.reach === 'open') {
      this.#wanted = there;
      dispatch({ kind: 'loop', loop: identifier });
    } else if (known?.reach === 'handle') {
      this.#wanted = there;
      dispatch({ kind: 'reopen-material', id: identifier });
    } else if (excerptWav) {
      // Its gain before the path is in its samples already.
      const hash = sha256(excerptWav);
      this.#wanted = { identifier: materialIdOf(hash), sha256: hash, region: null, trimDb: 0, sound: { kind: 'excerpt' } };
      dispatch({ kind: 'open-material', file: new File([excerptWav as Uint8Array<ArrayBuffer>], `excerpt of ${title}`, { type: 'audio/wav' }), handle: null });
    } else {
      // Should it be opened later, it is taken there then.
      this.#wanted = there;
      this.#tell({ kind: 'missing', sentence: `It speaks of ${title}, which is not here: open that file (Own file, or drop it) to hear it. The setting stands.` });
    }
  }

  #arrived({ session, live }: BenchState): void {
    const wanted = this.#wanted;
    if (wanted && live.programme && session.loop === wanted.identifier) this.#settle(wanted);
  }

  #settle({ sha256: expected, region, trimDb, sound }: Wanted): void {
    const { dispatch, state } = this.#context;
    this.#wanted = null;
    const { programme, material } = state().live;
    if (expected !== null && programme!.sha256 !== expected) return this.#tell({ kind: 'missing', sentence: `This bench has another recording by the name of ${programme!.title}: what is heard is not what it speaks of.` });
    if (!same(state().session.region, region)) dispatch({ kind: 'region', region });
    if (programme!.origin === 'own' && (material.trimDb ?? 0) !== trimDb) dispatch({ kind: 'trim', trimDb });
    this.#tell(sound);
  }

  #tell(sound: TicketSound): void {
    const { dispatch, state } = this.#context;
    if (state().live.ticket) dispatch({ kind: 'ticket-sound', sound });
    if (sound.kind === 'missing') dispatch({ kind: 'message', text: sound.sentence, urgent: true });
  }

  #send(state: BenchState, index: number, withExcerpt: boolean): void {
    const note = state.setting.notes[index];
    const ticket = note && ticketOfNote(state.setting.title, note, withExcerpt ? this.#excerpt(state, note.pin) : null);
    if (!ticket) return;
    hand(ticket);
    this.#context.dispatch({ kind: 'message', text: `Ticket handed over as ${ticketFileName(ticket)}${ticket.excerptWav ? ', with the excerpt' : ''}: who opens it hears this moment through this setting.`, urgent: false });
  }

  #excerpt(state: BenchState, pin: NotePin | undefined): Uint8Array | null {
    const programme = this.#context.programme();
    if (!pin || !programme || excerptOffer(state, pin)?.kind !== 'size') return null;
    return excerptFile(regionSamples(programme, regionFrames(programme, pin.region)), programme.rateHz);
  }
}

/** "village-hall-first-look.ticket.json" */
export function ticketFileName({ title }: Ticket): string {
  return `${fileStem(title)}.ticket.json`;
}

function hand(ticket: Ticket): void {
  download(writeTicket(ticket), ticketFileName(ticket), 'application/json');
}

function same(a: Region | null, b: Region | null): boolean {
  return a === b || (a !== null && b !== null && a.startSeconds === b.startSeconds && a.endSeconds === b.endSeconds);
}
