/** Random expressions, evaluated in WebAssembly and by an interpreter of the specification: the same bits. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  call, defineFunction, f64, f64x2, get, giveBack, i32, i64, laneOperation, load, local, operations, select, set,
} from '../../dsp/webassembly/index.ts';
import type { Expression, FunctionCode, OperationName, OperationShape, ValueType } from '../../dsp/webassembly/index.ts';
import { arithmetic, bitsOf, hasNaN, meanings, same, Trap, type Value } from './meanings.ts';
import { callable, edges, shown } from './values.ts';

/** A plan of an expression: what `build` makes a tree of and `evaluate` computes. */
type Plan =
  | { readonly kind: 'constant'; readonly type: ValueType; readonly value: Value }
  | { readonly kind: 'operand'; readonly type: ValueType }
  | { readonly kind: 'operation'; readonly type: ValueType; readonly name: OperationName; readonly lane: number; readonly operands: readonly Plan[] }
  | { readonly kind: 'select'; readonly type: ValueType; readonly operands: readonly Plan[] }
  | { readonly kind: 'call'; readonly type: ValueType; readonly operands: readonly Plan[] };

const types: readonly ValueType[] = ['i32', 'i64', 'f64', 'v128'];
const moderate = fc.oneof(fc.double({ noNaN: true, min: -1e6, max: 1e6 }), fc.double({ noNaN: true }), fc.constantFrom(0, -0, 1, -1, 0.5));
const constants: Readonly<Record<ValueType, fc.Arbitrary<Value>>> = {
  i32: fc.oneof(fc.integer(), fc.constantFrom(...edges.i32)),
  i64: fc.oneof(fc.bigInt({ min: -(2n ** 63n), max: 2n ** 63n - 1n }), fc.constantFrom(...edges.i64)),
  f64: moderate,
  v128: fc.tuple(moderate, moderate).map(([low, high]): Value => [bitsOf(low), bitsOf(high)]),
};

function planOf(type: ValueType, depth: number): fc.Arbitrary<Plan> {
  const leaf = fc.oneof(
    { weight: 2, arbitrary: fc.constant<Plan>({ kind: 'operand', type }) },
    // A v128 constant has both lanes alike.
    { weight: 1, arbitrary: constants[type].map((value): Plan => ({ kind: 'constant', type, value: typeof value === 'object' ? [value[0], value[0]] : value })) },
  );
  if (depth === 0) return leaf;
  const names = (Object.keys(operations) as OperationName[]).filter((name) => operations[name].result === type);
  const inner = (ofType: ValueType): fc.Arbitrary<Plan> => planOf(ofType, depth - 1);
  const operation = fc.constantFrom(...names).chain((name) => fc.tuple(fc.integer({ min: 0, max: 1 }), ...(operations[name] as OperationShape).operands.map(inner))
    .map(([lane, ...operands]): Plan => ({ kind: 'operation', type, name, lane, operands })));
  return fc.oneof(
    { weight: 1, arbitrary: leaf },
    { weight: 6, arbitrary: operation },
    { weight: 1, arbitrary: fc.tuple(inner('i32'), inner(type), inner(type)).map((operands): Plan => ({ kind: 'select', type, operands })) },
    { weight: 1, arbitrary: fc.tuple(inner(type), inner('i32')).map((operands): Plan => ({ kind: 'call', type, operands })) },
  );
}

/** kept(a, b): a, by way of a local. */
const kept = Object.fromEntries(types.map((type) => {
  const parameters = [local(type, 'a'), local('i32', 'b')];
  const code = defineFunction(`kept ${type}`, parameters, type);
  const middle = local(type, 'middle');
  code.body.push(set(middle, get(parameters[0]!)), giveBack(get(middle)));
  return [type, code];
})) as Record<ValueType, FunctionCode>;

function build(plan: Plan, operands: Readonly<Record<ValueType, Expression>>): Expression {
  if (plan.kind === 'operand') return operands[plan.type];
  if (plan.kind === 'constant') return constantOf(plan.value);
  const parts = plan.operands.map((part) => build(part, operands));
  if (plan.kind === 'operation') return laneOperation(plan.name, plan.lane, ...parts);
  return plan.kind === 'select' ? select(parts[0]!, parts[1]!, parts[2]!) : call(kept[plan.type], ...parts);

  function constantOf(value: Value): Expression {
    if (typeof value === 'object') return f64x2(meanings['f64x2.extract_lane']([value], 0) as number);
    if (typeof value === 'bigint') return i64(value);
    return plan.type === 'i32' ? i32(value) : f64(value);
  }
}

/** The value, and whether some result on the way was a NaN, whose bits an engine may choose. */
function evaluate(plan: Plan, operands: Readonly<Record<ValueType, Value>>): { readonly value: Value; readonly indefinite: boolean } {
  if (plan.kind === 'operand') return { value: operands[plan.type], indefinite: false };
  if (plan.kind === 'constant') return { value: plan.value, indefinite: false };
  const parts = plan.operands.map((part) => evaluate(part, operands));
  const values = parts.map(({ value }) => value);
  const value = plan.kind === 'operation' ? meanings[plan.name](values, plan.lane) : plan.kind === 'select' ? (values[0] !== 0 ? values[1]! : values[2]!) : values[0]!;
  return { value, indefinite: parts.some(({ indefinite }) => indefinite) || (plan.kind === 'operation' && arithmetic.has(plan.name) && hasNaN(value)) };
}

describe.each(types)('random expressions of type %s', (type) => {
  it('evaluate to the same bits as in an interpreter', () => {
    const seen = { definite: 0, trapped: 0, all: 0 };
    fc.assert(fc.property(planOf(type, 5), fc.record(constants), (plan, given) => {
      const compiled = callable(['v128', 'i32', 'i64', 'f64'], ([v128, i32, i64, f64]) => build(plan, { v128: v128!, i32: i32!, i64: i64!, f64: f64! }), Object.values(kept));
      const run = (): Value => compiled([given.v128, given.i32, given.i64, given.f64]);
      seen.all += 1;
      let wanted;
      try {
        wanted = evaluate(plan, given);
      } catch (error) {
        if (!(error instanceof Trap)) throw error;
        seen.trapped += 1;
        expect(run).toThrow(Trap);
        return;
      }
      if (wanted.indefinite) return;
      seen.definite += 1;
      const got = run();
      if (!same(got, wanted.value, false)) expect.fail(`expected ${shown(wanted.value)}, got ${shown(got)}`);
    }), { seed: 20261125, numRuns: 300 });
    expect(seen.all).toBeGreaterThanOrEqual(300);
    expect(seen.definite).toBeGreaterThan(150);
  });
});

describe('the comparison of random expressions', () => {
  it('sees two operands changed round', () => {
    const plan: Plan = { kind: 'operation', type: 'f64', name: 'f64.sub', lane: 0, operands: [{ kind: 'operand', type: 'f64' }, { kind: 'constant', type: 'f64', value: 1 }] };
    const given = { i32: 0, i64: 0n, f64: 3, v128: [0n, 0n] } as const;
    const wanted = evaluate(plan, given).value;
    const [f] = [callable(['f64'], ([x]) => build({ ...plan, operands: [...plan.operands].reverse() }, { f64: x!, i32: i32(0), i64: i64(0n), v128: load('v128.load', i32(0)) }))];
    expect(same(f([3]), wanted, false)).toBe(false);
  });
});
