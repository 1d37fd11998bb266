import { afterEach, describe, expect, it } from 'vitest';
import { installWebAssembly } from '../../../dsp/webassembly/index.ts';
import { installCompiledCode } from '../../../worklets/compiled-code.ts';
import stored from '../../reference/renders.json' with { type: 'json' };
import { makeReferenceRenders } from '../../path/reference-renders.ts';

afterEach(() => installWebAssembly(null));

describe('reference renders in the browser have the hashes that Node made', () => {
  it('in compiled code', () => {
    expect(installCompiledCode(true)).toBeNull();
    expect(makeReferenceRenders()).toEqual(stored.renders);
  });

  it('in loops', () => {
    expect(makeReferenceRenders()).toEqual(stored.renders);
  });
});
