import { afterEach, describe, expect, test, vi } from 'vitest';
import { storeAll, storeDelete, storeGet, storeSet, type StoreError } from '../../../ui/page/store.ts';

afterEach(() => {
  vi.unstubAllGlobals();
  vi.resetModules();
});

describe('store', () => {
  test('keeps values by store and key, lists them in order, forgets them', async () => {
    await storeSet('materials', 'test/b', { values: new Float64Array([0.1, -0]) });
    await storeSet('materials', 'test/a', 'one');
    await storeSet('sittings', 'test/a', 'another store');
    expect(await storeGet('materials', 'test/b')).toEqual({ values: new Float64Array([0.1, -0]) });
    expect([...await storeAll('materials')].filter(([key]) => key.startsWith('test/')).map(([key]) => key)).toEqual(['test/a', 'test/b']);
    await storeSet('materials', 'test/a', 'two');
    expect(await storeGet('materials', 'test/a')).toBe('two');
    await storeDelete('materials', 'test/a');
    expect(await storeGet('materials', 'test/a')).toBeUndefined();
    expect(await storeGet('sittings', 'test/a')).toBe('another store');
    await Promise.all([storeDelete('materials', 'test/b'), storeDelete('sittings', 'test/a')]);
  });

  test('what cannot be cloned is refused in a sentence, and the store goes on', async () => {
    await expect(storeSet('materials', 'test/c', () => undefined)).rejects.toThrow('This could not be kept in this browser: DataCloneError.');
    expect(await storeGet('materials', 'test/c')).toBeUndefined();
  });

  test.each([
    ['no database', undefined, 'it has no database for pages'],
    ['one that throws', { open: () => { throw new DOMException('no', 'SecurityError'); } }, 'storage switched off): SecurityError.'],
    ['one that refuses', { open: () => refusing('error', new DOMException('no', 'InvalidStateError')) }, 'storage switched off): InvalidStateError.'],
    ['one that another tab holds', { open: () => refusing('blocked', null) }, 'Close it and try again.'],
  ])('%s: a sentence', async (_name, indexedDB, sentence) => {
    vi.stubGlobal('indexedDB', indexedDB);
    const fresh = (await import(/* @vite-ignore */ `../../../ui/page/store.ts?${_name}`)) as { storeGet: typeof storeGet };
    const error: unknown = await fresh.storeGet('materials', 'test/d').catch((reason: unknown) => reason);
    expect((error as Error).name).toBe('StoreError');
    expect((error as StoreError).message).toContain(sentence);
  });
});

function refusing(event: 'error' | 'blocked', error: DOMException | null) {
  const request = { error, onerror: () => undefined, onblocked: () => undefined };
  setTimeout(() => (event === 'error' ? request.onerror() : request.onblocked()));
  return request;
}
