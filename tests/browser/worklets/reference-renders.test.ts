import { describe, expect, it } from 'vitest';
import stored from '../../reference/renders.json' with { type: 'json' };
import { makeReferenceRenders } from '../../path/reference-renders.ts';

describe('reference renders in the browser', () => {
  it('have the hashes that Node made', () => {
    expect(makeReferenceRenders()).toEqual(stored.renders);
  });
});
