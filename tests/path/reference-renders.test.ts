import { describe, expect, it } from 'vitest';
import stored from '../reference/renders.json' with { type: 'json' };
import { makeReferenceRenders } from './reference-renders.ts';

describe('reference renders in Node', () => {
  it('have the stored hashes', () => {
    expect(makeReferenceRenders()).toEqual(stored.renders);
  });
});
