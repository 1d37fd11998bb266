/**
 * Trees as text for people: the text format of the WebAssembly core specification 2.0 (W3C 2022, chapter 6), instructions folded (§6.5.10), so that
 * what is computed first stands innermost. It says exactly what `encodeModule` writes.
 */
import type { Expression, FunctionCode, Label, Local, ModuleCode, Statement } from './code.ts';
import { memoryImport } from './encode.ts';
import { operations, stores } from './operations.ts';
import { localsOf, operandsOf, partsOf } from './walk.ts';

export interface TextOptions {
  /** So many characters a line, where they can be kept. */
  readonly width?: number;
  /** What lies at `offset` bytes from an address that is a plain local; written as a comment. Null: nothing to say. */
  readonly nameOf?: (offset: number) => string | null;
}

/** A parenthesis: its words, then what is inside. */
interface Fold {
  readonly words: string;
  readonly parts: readonly Fold[];
}

const usualWidth = 140;

const fold = (words: string, ...parts: readonly Fold[]): Fold => ({ words, parts });

/** One line or many, without a line break at the end. */
export function moduleText(module: ModuleCode, options: TextOptions = {}): string {
  const imported = fold(`import "${memoryImport.module}" "${memoryImport.field}"`, fold('memory 1'));
  return lines(fold('module', imported, ...functionFolds(module, module.functions, options)), 0, options.width ?? usualWidth).join('\n');
}

/** The text of one of its functions. */
export function functionText(module: ModuleCode, code: FunctionCode, options: TextOptions = {}): string {
  return functionFolds(module, [code], options).flatMap((one) => lines(one, 0, options.width ?? usualWidth)).join('\n');
}

function functionFolds(module: ModuleCode, wanted: readonly FunctionCode[], options: TextOptions): Fold[] {
  const names = new Names();
  const functionNames = new Map(module.functions.map((code) => [code, names.unique(code.name)]));
  return wanted.map((code) => {
    const exported = Object.entries(module.exports).filter(([, other]) => other === code).map(([name]) => ` (export "${name}")`);
    return new FunctionText(code, functionNames, options).whole(exported.join(''));
  });
}

/** A module, a function, and whatever is too long has its parts on lines of their own; declarations of locals share theirs. */
function lines({ words, parts }: Fold, indent: number, width: number): string[] {
  const opened = /^(module|func) ?/.test(words);
  const flat = opened ? null : flatText({ words, parts }, width - indent);
  if (flat !== null) return [`${' '.repeat(indent)}${flat}`];
  const declarations = parts.filter((part) => part.words.startsWith('local '));
  const inner = [...filled(declarations, indent + 2, width), ...parts.slice(declarations.length).flatMap((part) => lines(part, indent + 2, width))];
  const last = inner.pop();
  return last === undefined ? [`${' '.repeat(indent)}(${words})`] : [`${' '.repeat(indent)}(${words}`, ...inner, `${last})`];
}

function filled(parts: readonly Fold[], indent: number, width: number): string[] {
  const out: string[] = [];
  for (const { words } of parts) {
    const last = out.at(-1);
    if (last !== undefined && last.length + words.length + 3 <= width) out[out.length - 1] = `${last} (${words})`;
    else out.push(`${' '.repeat(indent)}(${words})`);
  }
  return out;
}

/** Null: longer than `room`. */
function flatText({ words, parts }: Fold, room: number): string | null {
  let text = `(${words}`;
  for (const part of parts) {
    const inner = flatText(part, room - text.length - 2);
    if (inner === null) return null;
    text += ` ${inner}`;
  }
  text += ')';
  return text.length > room && parts.length > 0 ? null : text;
}

/** Identifiers of one kind, each once. */
class Names {
  readonly #taken = new Set<string>();

  unique(wanted: string): string {
    const plain = wanted.replace(/[^0-9A-Za-z!#$%&'*+\-./:<=>?@\\^_`|~]+/g, '_');
    let name = plain;
    for (let k = 2; this.#taken.has(name); k += 1) name = `${plain}.${k}`;
    this.#taken.add(name);
    return `$${name}`;
  }
}

class FunctionText {
  readonly #code: FunctionCode;
  readonly #functionNames: ReadonlyMap<FunctionCode, string>;
  readonly #nameOf: (offset: number) => string | null;
  readonly #locals = new Map<Local, string>();
  readonly #labels = new Map<Label, string>();
  readonly #labelNames = new Names();

  constructor(code: FunctionCode, functionNames: ReadonlyMap<FunctionCode, string>, { nameOf = () => null }: TextOptions) {
    this.#code = code;
    this.#functionNames = functionNames;
    this.#nameOf = nameOf;
    const names = new Names();
    for (const variable of [...code.parameters, ...localsOf(code)]) this.#locals.set(variable, names.unique(variable.name));
  }

  whole(exported: string): Fold {
    const { parameters, result, body } = this.#code;
    const declared = (word: string, list: readonly Local[]): string[] => list.map((variable) => `${word} ${this.#locals.get(variable)!} ${variable.type}`);
    const signature = [...declared('param', parameters), ...(result === null ? [] : [`result ${result}`])].map((words) => ` (${words})`).join('');
    const statements = body.map((statement) => this.#statement(statement));
    return fold(
      `func ${this.#functionNames.get(this.#code)!}${exported}${signature}`,
      ...declared('local', localsOf(this.#code)).map((words) => fold(words)), ...statements, ...(result === null ? [] : [fold('unreachable')]),
    );
  }

  #statement(statement: Statement): Fold {
    const operands = operandsOf(statement).map((operand) => this.#expression(operand));
    switch (statement.kind) {
      case 'set':
        return fold(`local.set ${this.#locals.get(statement.local)!}`, ...operands);
      case 'store':
        return fold(`${statement.name}${this.#place(statement.address, statement.offset)}${laneText(stores[statement.name], statement.lane)}`, ...operands);
      case 'call':
        return fold(`call ${this.#functionNames.get(statement.callee)!}`, ...operands);
      case 'copy':
        return fold('memory.copy', ...operands);
      case 'if': {
        const then = fold('then', ...statement.then.map((inner) => this.#statement(inner)));
        const otherwise = statement.otherwise.length === 0 ? [] : [fold('else', ...statement.otherwise.map((inner) => this.#statement(inner)))];
        return fold('if', ...operands, then, ...otherwise);
      }
      case 'loop': {
        const name = this.#labelNames.unique(statement.label.name);
        this.#labels.set(statement.label, name);
        return fold(`block ${name}.end`, fold(`loop ${name}`, ...statement.body.map((inner) => this.#statement(inner))));
      }
      case 'break':
        return fold(`br ${this.#labels.get(statement.label)!}.end`);
      case 'continue':
        return fold(`br ${this.#labels.get(statement.label)!}`);
      case 'return':
        return fold('return', ...operands);
    }
  }

  #expression(expression: Expression): Fold {
    const parts = partsOf(expression).map((part) => this.#expression(part));
    switch (expression.kind) {
      case 'constant':
        return fold(constantText(expression));
      case 'local':
        return fold(`local.get ${this.#locals.get(expression.local)!}`);
      case 'operation':
        return fold(`${expression.name}${laneText(operations[expression.name], expression.lane)}`, ...parts);
      case 'select':
        return fold('select', ...parts);
      case 'load':
        return fold(`${expression.name}${this.#place(expression.address, expression.offset)}`, ...parts);
      case 'call':
        return fold(`call ${this.#functionNames.get(expression.callee)!}`, ...parts);
    }
  }

  #place(address: Expression, offset: number): string {
    const name = address.kind === 'local' ? this.#nameOf(offset) : null;
    return `${offset === 0 ? '' : ` offset=${offset}`}${name === null ? '' : ` (;${name};)`}`;
  }
}

/** The lane index, where an instruction has one. */
const laneText = (instruction: object, lane: number): string => ('lane' in instruction ? ` ${lane}` : '');

function constantText(constant: Extract<Expression, { kind: 'constant' }>): string {
  switch (constant.type) {
    case 'i32':
    case 'i64':
      return `${constant.type}.const ${constant.value}`;
    case 'f64':
      return `f64.const ${floatText(constant.value)}`;
    case 'v128':
      return `v128.const f64x2 ${floatText(constant.value)} ${floatText(constant.value)}`;
  }
}

/** The shortest decimal that reads back as the same float64. */
function floatText(value: number): string {
  if (Number.isNaN(value)) return 'nan';
  if (Object.is(value, -0)) return '-0';
  return String(value).replace('Infinity', 'inf');
}
