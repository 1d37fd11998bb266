/** Reads the folded text of a module back into trees, by the grammar of the text format: only as much of it as the printer writes. */
import {
  again, call, callOnly, copyMemory, defineFunction, f64, f64x2, get, giveBack, i32, i64, label, laneOperation, leave, load, loads, local, operations, repeat, select, set, store, stores, when,
} from '../../dsp/webassembly/index.ts';
import type { Expression, FunctionCode, Label, LoadName, Local, ModuleCode, OperationName, Statement, StoreName, ValueType } from '../../dsp/webassembly/index.ts';

type Tree = string | readonly Tree[];

function parse(text: string): Tree {
  const tokens = text.replace(/\(;.*?;\)/g, ' ').match(/"[^"]*"|[()]|[^\s()"]+/g) ?? [];
  let at = 0;
  const next = (): Tree => {
    const token = tokens[at++];
    if (token === undefined || token === ')') throw new Error(`expected a word or an opening parenthesis at token ${at}, got ${token}`);
    if (token !== '(') return token;
    const inside: Tree[] = [];
    while (tokens[at] !== ')') inside.push(next());
    at += 1;
    return inside;
  };
  const whole = next();
  if (at !== tokens.length) throw new Error(`expected the end at token ${at}`);
  return whole;
}

const list = (tree: Tree): readonly Tree[] => (typeof tree === 'string' ? [] : tree);
const head = (tree: Tree): string => String(list(tree)[0]);
const word = (tree: Tree | undefined): string => {
  if (typeof tree !== 'string') throw new Error(`expected a word, got ${JSON.stringify(tree)}`);
  return tree;
};
const number = (written: string): number => Number(written.replace('inf', 'Infinity').replace('nan', 'NaN'));

export function readModuleText(text: string): ModuleCode {
  const [kind, imported, ...functions] = list(parse(text));
  if (kind !== 'module' || JSON.stringify(imported) !== '["import","\\"bench\\"","\\"memory\\"",["memory","1"]]') throw new Error('expected a module that imports its memory');
  const exports: Record<string, FunctionCode> = {};
  const byName = new Map<string, FunctionCode>();
  const readers = functions.map((tree) => {
    const rest = list(tree).slice(2);
    const of = (what: string): readonly Tree[][] => rest.filter((part) => head(part) === what).map((part) => list(part).slice(1));
    const locals = new Map<string, Local>();
    const declare = ([name, type]: readonly Tree[]): Local => {
      const variable = local(word(type) as ValueType, word(name));
      if (locals.has(word(name))) throw new Error(`${word(name)}: declared twice`);
      locals.set(word(name), variable);
      return variable;
    };
    const code = defineFunction(word(list(tree)[1]), of('param').map(declare), (of('result')[0]?.[0] as ValueType | undefined) ?? null);
    for (const variable of of('local')) declare(variable);
    for (const [name] of of('export')) exports[word(name).slice(1, -1)] = code;
    byName.set(code.name, code);
    const body = rest.filter((part) => !['param', 'result', 'local', 'export'].includes(head(part)));
    return () => code.body.push(...new BodyReader(locals, byName).statements(body));
  });
  for (const read of readers) read();
  return { functions: [...byName.values()], exports };
}

class BodyReader {
  readonly #locals: ReadonlyMap<string, Local>;
  readonly #functions: ReadonlyMap<string, FunctionCode>;
  readonly #labels = new Map<string, Label>();

  constructor(locals: ReadonlyMap<string, Local>, functions: ReadonlyMap<string, FunctionCode>) {
    this.#locals = locals;
    this.#functions = functions;
  }

  statements(trees: readonly Tree[]): Statement[] {
    // The last word of a function with a result, which the encoder writes by itself.
    return trees.filter((tree) => head(tree) !== 'unreachable').map((tree) => this.#statement(list(tree)));
  }

  #statement([name, ...rest]: readonly Tree[]): Statement {
    const trees = rest.filter((part) => typeof part !== 'string');
    const words = rest.filter((part) => typeof part === 'string');
    const e = (k: number): Expression => this.#expression(list(trees[k]!));
    const all = (): Expression[] => trees.map((tree) => this.#expression(list(tree)));
    switch (name) {
      case 'local.set':
        return set(this.#locals.get(words[0]!)!, e(0));
      case 'call':
        return callOnly(this.#functions.get(words[0]!)!, ...all());
      case 'memory.copy':
        return copyMemory(e(0), e(1), e(2));
      case 'if':
        return when(e(0), this.statements(list(trees[1]!).slice(1)), trees[2] === undefined ? [] : this.statements(list(trees[2]).slice(1)));
      case 'block': {
        const [kind, loopName, ...body] = list(trees[0]!);
        if (kind !== 'loop' || words[0] !== `${word(loopName)}.end`) throw new Error(`expected a loop in its block, got ${words[0]} and ${word(loopName)}`);
        const loop = label(word(loopName));
        this.#labels.set(loop.name, loop);
        return repeat(loop, this.statements(body));
      }
      case 'br':
        return words[0]!.endsWith('.end') ? leave(this.#labels.get(words[0]!.slice(0, -4))!) : again(this.#labels.get(words[0]!)!);
      case 'return':
        return giveBack(trees.length === 0 ? null : e(0));
      default: {
        const storeName = word(name) as StoreName;
        if (!(storeName in stores)) throw new Error(`expected a statement, got ${storeName}`);
        return store(storeName, e(0), offsetOf(words), e(1), laneOf(words));
      }
    }
  }

  #expression([name, ...rest]: readonly Tree[]): Expression {
    const operands = rest.filter((part) => typeof part !== 'string').map((part) => this.#expression(list(part)));
    const words = rest.filter((part) => typeof part === 'string');
    switch (name) {
      case 'i32.const':
        return i32(Number(words[0]));
      case 'i64.const':
        return i64(BigInt(words[0]!));
      case 'f64.const':
        return f64(number(words[0]!));
      case 'v128.const':
        if (words[1] !== words[2]) throw new Error('expected both lanes alike');
        return f64x2(number(words[1]!));
      case 'local.get':
        return get(this.#locals.get(words[0]!)!);
      case 'select':
        return select(operands[2]!, operands[0]!, operands[1]!);
      case 'call':
        return call(this.#functions.get(words[0]!)!, ...operands);
      default: {
        const known = word(name);
        if (known in loads) return load(known as LoadName, operands[0]!, offsetOf(words));
        if (!(known in operations)) throw new Error(`expected an expression, got ${known}`);
        return laneOperation(known as OperationName, laneOf(words), ...operands);
      }
    }
  }
}

function offsetOf(words: readonly string[]): number {
  return Number(words.find((part) => part.startsWith('offset='))?.slice(7) ?? 0);
}

function laneOf(words: readonly string[]): number {
  return Number(words.find((part) => /^[01]$/.test(part)) ?? 0);
}
