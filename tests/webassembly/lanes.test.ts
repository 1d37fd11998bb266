import { describe, expect, it } from 'vitest';
import { operation, scalarLane, vectorLanes } from '../../dsp/webassembly/index.ts';
import type { Expression, Lanes } from '../../dsp/webassembly/index.ts';
import { bitsOf, hasNaN, same, type Value } from './meanings.ts';
import { callable, edges, shown } from './values.ts';

type Written = (lanes: Lanes, a: Expression, b: Expression) => Expression;
const pick = (mask: (lanes: Lanes, a: Expression, b: Expression) => Expression): Written => (lanes, a, b) => lanes.choose(mask(lanes, a, b), lanes.constant(1), lanes.constant(-1));

const written: Readonly<Record<string, readonly [Written, (a: number, b: number) => number]>> = {
  'add': [(lanes, a, b) => lanes.add(a, b), (a, b) => a + b],
  'sub': [(lanes, a, b) => lanes.sub(a, b), (a, b) => a - b],
  'mul': [(lanes, a, b) => lanes.mul(a, b), (a, b) => a * b],
  'div': [(lanes, a, b) => lanes.div(a, b), (a, b) => a / b],
  'abs': [(lanes, a) => lanes.abs(a), (a) => Math.abs(a)],
  'neg': [(lanes, a) => lanes.neg(a), (a) => -a],
  'sqrt': [(lanes, a) => lanes.sqrt(a), (a) => Math.sqrt(a)],
  'lt': [pick((lanes, a, b) => lanes.lt(a, b)), (a, b) => (a < b ? 1 : -1)],
  'gt': [pick((lanes, a, b) => lanes.gt(a, b)), (a, b) => (a > b ? 1 : -1)],
  'le': [pick((lanes, a, b) => lanes.le(a, b)), (a, b) => (a <= b ? 1 : -1)],
  'ge': [pick((lanes, a, b) => lanes.ge(a, b)), (a, b) => (a >= b ? 1 : -1)],
  'ne': [pick((lanes, a, b) => lanes.ne(a, b)), (a, b) => (a !== b ? 1 : -1)],
  'and': [pick((lanes, a, b) => lanes.and(lanes.lt(a, lanes.constant(0)), lanes.lt(b, lanes.constant(0)))), (a, b) => (a < 0 && b < 0 ? 1 : -1)],
  'or': [pick((lanes, a, b) => lanes.or(lanes.lt(a, lanes.constant(0)), lanes.lt(b, lanes.constant(0)))), (a, b) => (a < 0 || b < 0 ? 1 : -1)],
  'not': [pick((lanes, a, b) => lanes.not(lanes.lt(a, b))), (a, b) => (a < b ? -1 : 1)],
  'choose between operands': [(lanes, a, b) => lanes.choose(lanes.lt(a, b), a, b), (a, b) => (a < b ? a : b)],
};

const floats = edges.f64 as number[];

describe.each(Object.entries(written))('%s', (_, [write, meaning]) => {
  it('computes in one lane what the language computes', () => {
    const compiled = callable(['f64', 'f64'], ([a, b]) => write(scalarLane, a!, b!));
    for (const a of floats) for (const b of floats) expect(compiled([a, b]), `${shown(a)}, ${shown(b)}`).toBe(meaning(a, b));
  });

  it('computes in either of two lanes what it computes in one', () => {
    const single = callable(['f64', 'f64'], ([a, b]) => write(scalarLane, a!, b!));
    const double = callable(['v128', 'v128'], ([a, b]) => write(vectorLanes, a!, b!));
    floats.forEach((a, k) => floats.forEach((b, l) => {
      const [otherA, otherB] = [floats[(k + 3) % floats.length]!, floats[(l + 7) % floats.length]!];
      const wanted: Value = [bitsOf(single([a, b]) as number), bitsOf(single([otherA, otherB]) as number)];
      const got = double([[bitsOf(a), bitsOf(otherA)], [bitsOf(b), bitsOf(otherB)]]);
      if (!same(got, wanted, hasNaN(wanted))) expect.fail(`${shown(a)}, ${shown(b)} beside ${shown(otherA)}, ${shown(otherB)}: expected ${shown(wanted)}, got ${shown(got)}`);
    }));
  });
});

describe('masks', () => {
  const below = (lanes: Lanes, a: Expression): Expression => lanes.lt(a, lanes.constant(0));
  const asNumber = (condition: Expression): Expression => operation('i32.ne', condition, operation('i32.xor', condition, condition));
  it.each([[-1, -1, 1, 1], [-1, 1, 1, 0], [1, -1, 1, 0], [1, 1, 0, 0]])('of %i and %i hold in any lane: %i, in all: %i', (left, right, any, all) => {
    const pair: Value = [bitsOf(left), bitsOf(right)];
    expect(callable(['v128'], ([a]) => asNumber(vectorLanes.any(below(vectorLanes, a!))))([pair])).toBe(any);
    expect(callable(['v128'], ([a]) => asNumber(vectorLanes.all(below(vectorLanes, a!))))([pair])).toBe(all);
    expect(callable(['f64'], ([a]) => asNumber(scalarLane.any(below(scalarLane, a!))))([left])).toBe(Number(left < 0));
    expect(callable(['f64'], ([a]) => asNumber(scalarLane.all(below(scalarLane, a!))))([left])).toBe(Number(left < 0));
  });
});
