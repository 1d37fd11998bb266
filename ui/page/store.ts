/**
 * What the page keeps between visits beside the session: a database in this browser (IndexedDB), one store a kind, any value that can be cloned under a
 * key. Nothing of it leaves this browser. Every function rejects with a `StoreError`, one sentence, where keeping is forbidden or has failed.
 */
export const storeNames = ['materials', 'sittings', 'exposure', 'session-log', 'tickets'] as const;
export type StoreName = (typeof storeNames)[number];

/** One sentence that may be shown as it is. */
export class StoreError extends Error {
  override readonly name = 'StoreError';
}

const databaseName = 'stagebench';
/** Raised when a store is added to `storeNames`. */
const databaseVersion = 2;

/** The value under the key, not looked at: check it like a file from a stranger. Undefined: there is none. */
export function storeGet(store: StoreName, key: string): Promise<unknown> {
  return within(store, 'readonly', (kept) => kept.get(key));
}

export async function storeSet(store: StoreName, key: string, value: unknown): Promise<void> {
  await within(store, 'readwrite', (kept) => kept.put(value, key));
}

export async function storeDelete(store: StoreName, key: string): Promise<void> {
  await within(store, 'readwrite', (kept) => kept.delete(key));
}

/** All of a store, by key in their order. */
export async function storeAll(store: StoreName): Promise<ReadonlyMap<string, unknown>> {
  const [keys, values] = await Promise.all([
    within(store, 'readonly', (kept) => kept.getAllKeys()), within(store, 'readonly', (kept) => kept.getAll() as IDBRequest<unknown[]>),
  ]);
  return new Map(keys.map((key, index) => [String(key), values[index]]));
}

let opened: Promise<IDBDatabase> | null = null;

function database(): Promise<IDBDatabase> {
  opened ??= open().catch((error: unknown) => {
    // The next call tries again.
    opened = null;
    throw error;
  });
  return opened;
}

function open(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    // A browser that forbids it may leave it out, or throw.
    const request = (globalThis as { readonly indexedDB?: IDBFactory }).indexedDB?.open(databaseName, databaseVersion);
    if (!request) throw new StoreError('This browser keeps nothing between visits: it has no database for pages.');
    request.onupgradeneeded = () => {
      for (const name of storeNames) if (!request.result.objectStoreNames.contains(name)) request.result.createObjectStore(name);
    };
    request.onblocked = () => reject(new StoreError('Nothing can be kept now: another tab holds the store of an older version of this page. Close it and try again.'));
    request.onerror = () => reject(forbidden(request.error));
    request.onsuccess = () => {
      const kept = request.result;
      const forget = () => {
        opened = null;
        kept.close();
      };
      kept.onversionchange = forget;
      kept.onclose = forget;
      resolve(kept);
    };
  }).catch((error: unknown) => {
    throw error instanceof StoreError ? error : forbidden(error);
  }) as Promise<IDBDatabase>;
}

async function within<T>(store: StoreName, mode: IDBTransactionMode, ask: (kept: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const kept = await database();
  try {
    return await new Promise<T>((resolve, reject) => {
      const transaction = kept.transaction(store, mode);
      const request = ask(transaction.objectStore(store));
      transaction.oncomplete = () => resolve(request.result);
      transaction.onabort = () => reject(transaction.error ?? new Error('it was broken off'));
    });
  } catch (error) {
    throw refused(error);
  }
}

function forbidden(error: unknown): StoreError {
  return new StoreError(`This browser does not let the page keep anything (private window, or storage switched off): ${nameOf(error)}.`);
}

function refused(error: unknown): StoreError {
  return new StoreError(nameOf(error) === 'QuotaExceededError'
    ? 'This could not be kept: the room this browser gives the page is used up.'
    : `This could not be kept in this browser: ${nameOf(error)}.`);
}

const nameOf = (error: unknown): string => (error instanceof Error || error instanceof DOMException ? error.name : String(error));
