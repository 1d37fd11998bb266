/**
 * Functions as trees of expressions and statements, before they become bytes: plain data with makers that check types. `encode.ts` writes them as
 * WebAssembly; anything else that walks them (a printer, a translator for a yardstick) computes the same thing.
 */
import { loads, operations, stores } from './operations.ts';
import type { LoadName, OperationName, StoreName, ValueType } from './operations.ts';

export type Expression =
  | { readonly kind: 'constant'; readonly type: 'i32' | 'f64'; readonly value: number }
  | { readonly kind: 'constant'; readonly type: 'i64'; readonly value: bigint }
  /** Both lanes alike. */
  | { readonly kind: 'constant'; readonly type: 'v128'; readonly value: number }
  | { readonly kind: 'local'; readonly type: ValueType; readonly local: Local }
  | { readonly kind: 'operation'; readonly type: ValueType; readonly name: OperationName; readonly operands: readonly Expression[]; readonly lane: number }
  /** `whenTrue` where the condition is not 0; both are computed. */
  | { readonly kind: 'select'; readonly type: ValueType; readonly condition: Expression; readonly whenTrue: Expression; readonly whenFalse: Expression }
  | { readonly kind: 'load'; readonly type: ValueType; readonly name: LoadName; readonly address: Expression; readonly offset: number }
  | { readonly kind: 'call'; readonly type: ValueType; readonly callee: FunctionCode; readonly operands: readonly Expression[] };

export type Statement =
  | { readonly kind: 'set'; readonly local: Local; readonly value: Expression }
  | { readonly kind: 'store'; readonly name: StoreName; readonly address: Expression; readonly offset: number; readonly value: Expression; readonly lane: number }
  | { readonly kind: 'call'; readonly callee: FunctionCode; readonly operands: readonly Expression[] }
  /** Byte counts and addresses are i32; the areas may overlap. */
  | { readonly kind: 'copy'; readonly to: Expression; readonly from: Expression; readonly bytes: Expression }
  | { readonly kind: 'if'; readonly condition: Expression; readonly then: readonly Statement[]; readonly otherwise: readonly Statement[] }
  /** Repeats until something leaves it. */
  | { readonly kind: 'loop'; readonly label: Label; readonly body: readonly Statement[] }
  /** Out of the loop … */
  | { readonly kind: 'break'; readonly label: Label }
  /** … or to its next round. */
  | { readonly kind: 'continue'; readonly label: Label }
  | { readonly kind: 'return'; readonly value: Expression | null };

/** A variable of one function; told apart by identity. */
export interface Local {
  readonly type: ValueType;
  readonly name: string;
}

/** A loop, to be left or repeated by name. */
export interface Label {
  readonly name: string;
}

export interface FunctionCode {
  readonly name: string;
  readonly parameters: readonly Local[];
  readonly result: ValueType | null;
  /** Filled by whoever writes the function; locals are found in it. */
  readonly body: Statement[];
}

export interface ModuleCode {
  /** In the order of their numbers; a function called must be among them. */
  readonly functions: readonly FunctionCode[];
  /** Names under which functions can be called from outside. */
  readonly exports: Readonly<Record<string, FunctionCode>>;
}

export function defineFunction(name: string, parameters: readonly Local[], result: ValueType | null = null): FunctionCode {
  return { name, parameters, result, body: [] };
}

export const local = (type: ValueType, name: string): Local => ({ type, name });
export const label = (name: string): Label => ({ name });

/** −2^31 … 2^31 − 1; a RangeError for anything else. */
export function i32(value: number): Expression {
  if ((value | 0) !== value) throw new RangeError(`i32: expected an integer of −2^31 … 2^31 − 1, got ${value}`);
  return { kind: 'constant', type: 'i32', value };
}
export const i64 = (value: bigint): Expression => ({ kind: 'constant', type: 'i64', value });
export const f64 = (value: number): Expression => ({ kind: 'constant', type: 'f64', value });
export const f64x2 = (value: number): Expression => ({ kind: 'constant', type: 'v128', value });
export const get = (variable: Local): Expression => ({ kind: 'local', type: variable.type, local: variable });

/** Throws a TypeError where operands have the wrong types. */
export function operation(name: OperationName, ...operands: readonly Expression[]): Expression {
  return laneOperation(name, 0, ...operands);
}

/** An operation on lane 0 or 1. */
export function laneOperation(name: OperationName, lane: number, ...operands: readonly Expression[]): Expression {
  const shape = operations[name];
  requireTypes(name, shape.operands, operands);
  requireLane(name, lane);
  return { kind: 'operation', type: shape.result, name, operands, lane };
}

export function select(condition: Expression, whenTrue: Expression, whenFalse: Expression): Expression {
  requireTypes('select', ['i32', whenTrue.type, whenTrue.type], [condition, whenTrue, whenFalse]);
  return { kind: 'select', type: whenTrue.type, condition, whenTrue, whenFalse };
}

export function load(name: LoadName, address: Expression, offset = 0): Expression {
  requireTypes(name, ['i32'], [address]);
  return { kind: 'load', type: loads[name].result, name, address, offset };
}

/** The value of a function that has one. */
export function call(callee: FunctionCode, ...operands: readonly Expression[]): Expression {
  requireTypes(callee.name, callee.parameters.map(({ type }) => type), operands);
  if (callee.result === null) throw new TypeError(`${callee.name}: expected a function with a result, got one without`);
  return { kind: 'call', type: callee.result, callee, operands };
}

export function set(variable: Local, value: Expression): Statement {
  requireTypes(variable.name, [variable.type], [value]);
  return { kind: 'set', local: variable, value };
}

export function store(name: StoreName, address: Expression, offset: number, value: Expression, lane = 0): Statement {
  requireTypes(name, ['i32', stores[name].operand], [address, value]);
  requireLane(name, lane);
  return { kind: 'store', name, address, offset, value, lane };
}

/** A function without a result. */
export function callOnly(callee: FunctionCode, ...operands: readonly Expression[]): Statement {
  requireTypes(callee.name, callee.parameters.map(({ type }) => type), operands);
  if (callee.result !== null) throw new TypeError(`${callee.name}: expected a function without a result, got one with`);
  return { kind: 'call', callee, operands };
}

export function copyMemory(to: Expression, from: Expression, bytes: Expression): Statement {
  requireTypes('memory.copy', ['i32', 'i32', 'i32'], [to, from, bytes]);
  return { kind: 'copy', to, from, bytes };
}

export function when(condition: Expression, then: readonly Statement[], otherwise: readonly Statement[] = []): Statement {
  requireTypes('if', ['i32'], [condition]);
  return { kind: 'if', condition, then, otherwise };
}

export const repeat = (name: Label, body: readonly Statement[]): Statement => ({ kind: 'loop', label: name, body });
export const leave = (name: Label): Statement => ({ kind: 'break', label: name });
export const again = (name: Label): Statement => ({ kind: 'continue', label: name });
export const giveBack = (value: Expression | null = null): Statement => ({ kind: 'return', value });

/** `body` for counter = from, from + step … while below `end`; `end` is computed each time. */
export function countUp(counter: Local, from: Expression, end: Expression, step: number, body: readonly Statement[]): readonly Statement[] {
  const name = label(`${counter.name} loop`);
  return [
    set(counter, from),
    repeat(name, [
      when(operation('i32.ge_s', get(counter), end), [leave(name)]),
      ...body,
      set(counter, operation('i32.add', get(counter), i32(step))),
      again(name),
    ]),
  ];
}

function requireLane(name: string, lane: number): void {
  if (lane !== 0 && lane !== 1) throw new RangeError(`${name}: expected lane 0 or 1, got ${lane}`);
}

function requireTypes(name: string, wanted: readonly ValueType[], operands: readonly Expression[]): void {
  let fits = wanted.length === operands.length;
  for (let k = 0; fits && k < wanted.length; k += 1) fits = wanted[k] === operands[k]!.type;
  if (!fits) throw new TypeError(`${name}: expected operands (${wanted.join(', ')}), got (${operands.map(({ type }) => type).join(', ')})`);
}
