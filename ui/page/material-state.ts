/** Material of the listener's own as the page sees it: files that were opened, the one being read, what of a long one is looked at. Types only. */

export interface Stretch {
  readonly startSeconds: number;
  readonly endSeconds: number;
}

/** What is remembered of a file's use. */
export interface RememberedUse {
  readonly region: Stretch | null;
  /** Gain before the path, at most 0 dB, for in and out alike; null: it was never asked about. */
  readonly trimDb: number | null;
}

/** A file that was opened once. Its name and what was chosen of it are kept in this browser, its content is not. */
export interface KnownMaterial extends RememberedUse {
  /** `file:` and the first 16 digits of the SHA-256 of its bytes: what `session.loop` holds. */
  readonly id: string;
  readonly name: string;
  readonly rateHz: number;
  readonly channels: 1 | 2;
  readonly seconds: number;
  /** How it is had again: open since this visit began, by a handle that the browser keeps (it may ask), or picked anew. */
  readonly reach: 'open' | 'handle' | 'pick';
}

export interface MaterialState {
  /** The newest first. */
  readonly known: readonly KnownMaterial[];
  /** A file on its way to the bench; what is on the bench stays until it is whole. */
  readonly reading: { readonly name: string; readonly done: number } | null;
  /** What the overview shows of the loop; null: all of it. */
  readonly view: Stretch | null;
  /** As in `RememberedUse`, of what is on the bench; null of all that is no own file. */
  readonly trimDb: number | null;
  /** Highest sample of the region as recorded, dBFS; null: not known yet. */
  readonly regionPeakDbfs: number | null;
  /** Rate of the output device, as far as the browser tells; null: it does not, or not before the first press of Play. The context before it has the base rate. */
  readonly deviceHz: number | null;
}

export type MaterialAction =
  /** A file takes the loop's place once it has been read to its end. */
  | { readonly kind: 'open-material'; readonly file: File; readonly handle: FileSystemFileHandle | null }
  /** One that was opened before, by its handle. */
  | { readonly kind: 'reopen-material'; readonly id: string }
  /** Its name and what was chosen of it are deleted. */
  | { readonly kind: 'forget-material'; readonly id: string }
  | { readonly kind: 'stop-reading' }
  | { readonly kind: 'loop-view'; readonly view: Stretch | null }
  | { readonly kind: 'trim'; readonly trimDb: number }
  // answers of the engine
  | { readonly kind: 'material-reading'; readonly reading: MaterialState['reading'] }
  | { readonly kind: 'materials'; readonly known: readonly KnownMaterial[] }
  | { readonly kind: 'region-peak'; readonly peakDbfs: number }
  | { readonly kind: 'output-device'; readonly deviceHz: number | null };
