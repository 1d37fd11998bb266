/** Files of the listener's own: opens them, and remembers in this browser their names, their regions and trims. Their contents stay where they are. */
import { shortened, sentenceOf } from '../sentence.ts';
import type { KnownMaterial } from '../material-state.ts';
import { isMaterialId, materialIdOf, mostRemembered, readMaterialRecord, type MaterialRecord } from '../material-record.ts';
import { storeAll, storeDelete, storeSet } from '../store.ts';
import type { Action, BenchState } from '../state.ts';
import type { EngineContext, EnginePart } from './contract.ts';
import type { BenchRecording } from './programmes.ts';
import type { RecordingFiles } from './recording-files.ts';

/** A region that is being moved is kept once it rests. */
const restMilliseconds = 500;

/** What browsers add to the handle of a file, and their types do not know. */
type AskedHandle = FileSystemFileHandle & { requestPermission?(of: { readonly mode: 'read' }): Promise<PermissionState> };

export class Materials implements EnginePart {
  readonly #context: EngineContext;
  readonly #files: RecordingFiles;
  readonly #open = new Map<string, BenchRecording>();
  #records = new Map<string, MaterialRecord>();
  /** Of the newest file; an older one is given up. */
  #reading = new AbortController();
  /** Counts what was wished onto the bench: the newest wish wins. */
  #wishes = 0;
  #keeping: { readonly id: string; readonly timer: ReturnType<typeof setTimeout> } | null = null;
  /** That nothing can be kept is said once. */
  #toldOfStore = false;

  constructor(context: EngineContext, files: RecordingFiles) {
    this.#context = context;
    this.#files = files;
  }

  async begin(): Promise<void> {
    try {
      const stored = await storeAll('materials');
      for (const [id, value] of stored) {
        const record = isMaterialId(id) ? readMaterialRecord(value) : null;
        if (record && !this.#records.has(id)) this.#records.set(id, record);
      }
    } catch {
      // Said when something is to be kept.
      return;
    }
    if (this.#records.size > 0) this.#tellKnown();
  }

  recording(loop: string): BenchRecording | null {
    return this.#open.get(loop) ?? null;
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    const asksForFile = action.kind === 'open-material' || action.kind === 'reopen-material';
    if (asksForFile || action.kind === 'loop' || after.session.loop !== before.session.loop || (after.live.input.sounding && !before.live.input.sounding)) this.#wishes += 1;
    switch (action.kind) {
      case 'open-material':
        void this.#bring(action.file, action.handle, this.#wishes);
        return;
      case 'reopen-material':
        void this.#reopen(action.id, this.#wishes);
        return;
      case 'forget-material':
        void this.#forget(action.id);
        return;
      case 'stop-reading':
        this.#reading.abort();
        return;
    }
    const { loop } = after.session;
    const { known } = after.live.material;
    if (known !== before.live.material.known && action.kind !== 'materials') this.#keepLater(loop);
  }

  dispose(): void {
    this.#reading.abort();
    if (this.#keeping) clearTimeout(this.#keeping.timer);
    this.#files.dispose();
  }

  /** `wish`: which this was; what was wished after it stays on the bench. */
  async #bring(file: File, handle: FileSystemFileHandle | null, wish: number): Promise<void> {
    const { dispatch, state } = this.#context;
    this.#reading.abort();
    this.#reading = new AbortController();
    const { signal } = this.#reading;
    const name = shortened(file.name);
    const tell = (done: number) => {
      if (!signal.aborted) dispatch({ kind: 'material-reading', reading: { name, done } });
    };
    tell(0);
    try {
      const opened = await this.#files.open(file, tell, signal);
      if (!opened) return;
      if (signal.aborted) {
        this.#files.forget(opened.key);
        return;
      }
      const id = materialIdOf(opened.sha256);
      const { rateHz, channels, overview } = opened;
      const earlier = this.#remembered(id);
      const again = this.#open.get(id);
      if (again) this.#files.forget(again.key);
      this.#open.set(id, { ...opened, title: name, origin: 'own' });
      const record: MaterialRecord = {
        name, rateHz, channels, seconds: overview.frames / rateHz, openedAt: Date.now(), region: earlier?.region ?? null, trimDb: earlier?.trimDb ?? null, handle: handle ?? earlier?.handle ?? null,
      };
      this.#records.set(id, record);
      this.#tellKnown();
      const aside = this.#asideSentence(name, wish);
      if (aside === null) dispatch({ kind: 'loop', loop: id });
      if (opened.readBy === 'browser') this.#forgetDecoded([id, state().session.loop]);
      // One message: of two at once the first would not be seen.
      const sentences = [aside, opened.readBy === 'browser' ? browserSentence(name, opened.rateHz, opened.atOwnRate) : null].filter((sentence) => sentence !== null);
      if (sentences.length > 0) dispatch({ kind: 'message', text: sentences.join(' '), urgent: false });
      await this.#keep(id);
    } catch (error) {
      if (!signal.aborted) dispatch({ kind: 'message', text: `${name} was not opened: ${sentenceOf(error)}. What is on the bench stays.`, urgent: true });
    } finally {
      if (!signal.aborted && state().live.material.reading) dispatch({ kind: 'material-reading', reading: null });
    }
  }

  async #reopen(id: string, wish: number): Promise<void> {
    const record = this.#records.get(id);
    const handle = record?.handle as AskedHandle | null | undefined;
    if (!record || !handle) return;
    try {
      if (await handle.requestPermission?.({ mode: 'read' }) === 'denied') throw new Error('the browser was not allowed to read it');
      const file = await handle.getFile();
      // While the browser asked; what is being read since then goes on.
      if (wish === this.#wishes) await this.#bring(file, handle, wish);
      else this.#context.dispatch({ kind: 'message', text: `${record.name} was not opened, for something else was chosen meanwhile.`, urgent: false });
    } catch (error) {
      this.#context.dispatch({ kind: 'message', text: `${record.name} could not be opened again: ${sentenceOf(error)}. Pick it anew.`, urgent: true });
      this.#records.set(id, { ...record, handle: null });
      this.#tellKnown();
    }
  }

  /** Why a file that was read is not put on the bench; null: it is. */
  #asideSentence(name: string, wish: number): string | null {
    const { blind, long } = this.#context.state().live;
    // What is compared stays what it is.
    if (blind !== null || long.sitting !== null) return `${name} is open, but not on the bench: choose it there.`;
    return wish === this.#wishes ? null : `${name} is open, but not on the bench, for something else was chosen meanwhile: it is under Your files.`;
  }

  /** What the browser decoded lies in memory whole: of such there is one, beside what is on the bench. */
  #forgetDecoded(but: readonly string[]): void {
    for (const [id, { readBy, key }] of this.#open) {
      if (readBy !== 'browser' || but.includes(id)) continue;
      this.#files.forget(key);
      this.#open.delete(id);
    }
  }

  async #forget(id: string): Promise<void> {
    const open = this.#open.get(id);
    // What is heard stays open until something else is.
    if (open && this.#context.state().session.loop !== id) {
      this.#files.forget(open.key);
      this.#open.delete(id);
    }
    this.#records.delete(id);
    this.#tellKnown();
    await this.#stored(() => storeDelete('materials', id));
  }

  /** With its region and trim as they are now. */
  #remembered(id: string): MaterialRecord | null {
    const record = this.#records.get(id);
    const now = this.#context.state().live.material.known.find((file) => file.id === id);
    return record ? { ...record, ...(now ? { region: now.region, trimDb: now.trimDb } : {}) } : null;
  }

  #keepLater(id: string): void {
    if (this.#keeping) clearTimeout(this.#keeping.timer);
    if (this.#keeping && this.#keeping.id !== id) void this.#keep(this.#keeping.id);
    this.#keeping = { id, timer: setTimeout(() => {
      this.#keeping = null;
      void this.#keep(id);
    }, restMilliseconds) };
  }

  async #keep(id: string): Promise<void> {
    const record = this.#remembered(id);
    if (!record) return;
    this.#records.set(id, record);
    await this.#stored(() => storeSet('materials', id, record));
    const oldest = [...this.#records].sort(([, a], [, b]) => b.openedAt - a.openedAt).slice(mostRemembered);
    for (const [old] of oldest) await this.#forget(old);
  }

  async #stored(keep: () => Promise<void>): Promise<void> {
    try {
      await keep();
    } catch (error) {
      if (!this.#toldOfStore) this.#context.dispatch({ kind: 'message', text: `Regions of your files will not be remembered. ${sentenceOf(error)}`, urgent: false });
      this.#toldOfStore = true;
    }
  }

  #tellKnown(): void {
    const known = [...this.#records.keys()].map((id) => [id, this.#remembered(id)!] as const).sort(([, a], [, b]) => b.openedAt - a.openedAt)
      .map(([id, { openedAt: _, handle, ...record }]): KnownMaterial => ({ id, ...record, reach: this.#open.has(id) ? 'open' : handle ? 'handle' : 'pick' }));
    this.#context.dispatch({ kind: 'materials', known });
  }
}

function browserSentence(name: string, rateHz: number, atOwnRate: boolean | null): string {
  const rate = `${rateHz / 1000} kHz`;
  if (atOwnRate === true) return `${name} was decoded by the browser, at its own ${rate}.`;
  return `${name} was decoded by the browser and came at ${rate}; ${atOwnRate === null ? 'its own rate is not known, so it may have been resampled' : 'it was resampled'}.`;
}
