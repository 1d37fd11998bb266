/** The functions as code in the browser's engine. */
import { describe, expect, it } from 'vitest';
import { cases, everyLanes, missesOf } from '../../webassembly/math-code-misses.ts';

describe.each(Object.entries(cases))('%s', (_, one) => {
  it.each(everyLanes)('has the bits of the readable function in %s, in this browser too', (_, lanes) => {
    const { points, different, examples } = missesOf(one, lanes, 200_000);
    expect(points).toBeGreaterThan(200_000);
    expect(examples).toEqual([]);
    expect(different).toBe(0);
  });
});
