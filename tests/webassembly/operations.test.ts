import { describe, expect, it } from 'vitest';
import { laneOperation, operations } from '../../dsp/webassembly/index.ts';
import type { OperationName, OperationShape } from '../../dsp/webassembly/index.ts';
import { arithmetic, meanings, same, Trap, type Value } from './meanings.ts';
import { callable, edges, shown } from './values.ts';

/** Every choice of one value from each list. */
function combinations(lists: readonly (readonly Value[])[]): Value[][] {
  return lists.reduce<Value[][]>((sofar, list) => sofar.flatMap((chosen) => list.map((value) => [...chosen, value])), [[]]);
}

/** The value, or 'trap'. */
function outcome(compute: () => Value): Value | 'trap' {
  try {
    return compute();
  } catch (error) {
    if (error instanceof Trap) return 'trap';
    throw error;
  }
}

describe.each(Object.keys(operations) as OperationName[])('%s', (name) => {
  const shape: OperationShape = operations[name];
  it.each(shape.lane ? [0, 1] : [0])('computes what the specification says, at every edge (lane %i)', (lane) => {
    const compiled = callable(shape.operands, (operands) => laneOperation(name, lane, ...operands));
    // Three vectors: some of the values, or there are too many triples.
    const lists = shape.operands.map((type) => (shape.operands.length === 3 ? edges[type].filter((_, k) => k % 3 === 0) : edges[type]));
    const results = new Set<string>();
    for (const operands of combinations(lists)) {
      const wanted = outcome(() => meanings[name](operands, lane));
      const got = outcome(() => compiled(operands));
      if (got === 'trap' || wanted === 'trap') expect(got, operands.map(shown).join(', ')).toBe(wanted);
      else if (!same(got, wanted, arithmetic.has(name))) expect.fail(`${name}(${operands.map(shown).join(', ')}): expected ${shown(wanted)}, got ${shown(got)}`);
      results.add(got === 'trap' ? got : shown(got));
    }
    // The edges tell results apart: a constant would not do.
    expect(results.size).toBeGreaterThan(1);
  });
});
