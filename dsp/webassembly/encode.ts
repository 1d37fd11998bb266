/** From trees to the bytes of a module: binary format of the WebAssembly core specification 2.0 (W3C 2022), chapter 5. */
import { ByteSink } from './bytes.ts';
import type { Expression, FunctionCode, Label, Local, ModuleCode, Statement } from './code.ts';
import { loads, operations, stores } from './operations.ts';
import type { ValueType } from './operations.ts';
import { localsOf } from './walk.ts';

/** Name of the imported memory, both parts. */
export const memoryImport = { module: 'bench', field: 'memory' } as const;

const typeCodes: Readonly<Record<ValueType, number>> = { i32: 0x7f, i64: 0x7e, f64: 0x7c, v128: 0x7b };
const valueTypes: readonly ValueType[] = ['i32', 'i64', 'f64', 'v128'];
const noResult = 0x40;
const section = { type: 1, import: 2, function: 3, export: 7, code: 10 } as const;

/**
 * The module: it imports one memory ("bench" "memory", at least one page) and exports functions. Throws where a function calls one that is not in the
 * module or leaves a loop it is not in.
 */
export function encodeModule(module: ModuleCode): Uint8Array<ArrayBuffer> {
  const numbers = numbersOf(module);
  const types = new TypeList();
  const typeNumbers = module.functions.map((code) => types.numberOf(code));
  const out = new ByteSink();
  for (const byte of [0x00, 0x61, 0x73, 0x6d, 0x01, 0x00, 0x00, 0x00]) out.byte(byte);
  writeSection(out, section.type, types.signatures.length, (into) => { for (const byte of types.signatures.flat()) into.byte(byte); });
  writeSection(out, section.import, 1, (into) => {
    into.name(memoryImport.module);
    into.name(memoryImport.field);
    for (const byte of [0x02, 0x00, 0x01]) into.byte(byte);
  });
  writeSection(out, section.function, typeNumbers.length, (into) => { for (const number of typeNumbers) into.unsigned(number); });
  const exported = Object.entries(module.exports);
  writeSection(out, section.export, exported.length, (into) => {
    for (const [name, code] of exported) {
      into.name(name);
      into.byte(0x00);
      into.unsigned(numberOf(numbers, code));
    }
  });
  writeSection(out, section.code, module.functions.length, (into) => {
    for (const code of module.functions) {
      const body = new BodyWriter(code, numbers).written();
      into.unsigned(body.length);
      into.append(body);
    }
  });
  return out.bytes();
}

/** Bytes of each function's body, in the order of their numbers. */
export function functionBytes(module: ModuleCode): number[] {
  const numbers = numbersOf(module);
  return module.functions.map((code) => new BodyWriter(code, numbers).written().length);
}

function numbersOf({ functions }: ModuleCode): ReadonlyMap<FunctionCode, number> {
  return new Map(functions.map((code, number) => [code, number]));
}

/** Function types, each once. */
class TypeList {
  readonly signatures: number[][] = [];
  readonly #numbers = new Map<string, number>();

  numberOf({ parameters, result }: FunctionCode): number {
    const results = result === null ? [0] : [1, typeCodes[result]];
    const parameterSink = new ByteSink();
    parameterSink.unsigned(parameters.length);
    const signature = [0x60, ...parameterSink.bytes(), ...parameters.map(({ type }) => typeCodes[type]), ...results];
    const key = signature.join(',');
    const number = this.#numbers.get(key) ?? this.signatures.push(signature) - 1;
    this.#numbers.set(key, number);
    return number;
  }
}

function writeSection(out: ByteSink, identifier: number, entries: number, write: (into: ByteSink) => void): void {
  const content = new ByteSink();
  content.unsigned(entries);
  write(content);
  out.byte(identifier);
  out.unsigned(content.length);
  out.append(content);
}

function numberOf(numbers: ReadonlyMap<FunctionCode, number>, code: FunctionCode): number {
  const number = numbers.get(code);
  if (number === undefined) {
    const own = [...numbers.keys()].map(({ name }) => name).join(', ');
    throw new Error(`function "${code.name}": expected one of the module's own (${own})`);
  }
  return number;
}

class BodyWriter {
  private readonly out = new ByteSink();
  private readonly code: FunctionCode;
  private readonly functionNumbers: ReadonlyMap<FunctionCode, number>;
  private readonly localNumbers = new Map<Local, number>();
  /** Constructs entered, innermost last; null: an if. A loop has two: its block to break from, and itself. */
  private readonly nesting: ({ readonly label: Label; readonly part: 'outside' | 'inside' } | null)[] = [];

  constructor(code: FunctionCode, functionNumbers: ReadonlyMap<FunctionCode, number>) {
    this.code = code;
    this.functionNumbers = functionNumbers;
    for (const parameter of code.parameters) this.localNumbers.set(parameter, this.localNumbers.size);
    const locals = localsOf(code);
    const byType = valueTypes.map((type) => [type, locals.filter((variable) => variable.type === type)] as const);
    const groups = byType.filter(([, ofType]) => ofType.length > 0);
    this.out.unsigned(groups.length);
    for (const [type, ofType] of groups) {
      this.out.unsigned(ofType.length);
      this.out.byte(typeCodes[type]);
      for (const variable of ofType) this.localNumbers.set(variable, this.localNumbers.size);
    }
  }

  /** Declarations of locals, instructions, end. */
  written(): ByteSink {
    this.statements(this.code.body);
    // The body of a function with a result returns inside: what follows is never reached.
    if (this.code.result !== null) this.out.byte(0x00);
    this.out.byte(0x0b);
    return this.out;
  }

  private statements(list: readonly Statement[]): void {
    for (const statement of list) this.statement(statement);
  }

  private statement(statement: Statement): void {
    const { out } = this;
    switch (statement.kind) {
      case 'set':
        this.expression(statement.value);
        out.byte(0x21);
        out.unsigned(this.localNumber(statement.local));
        return;
      case 'store': {
        this.expression(statement.address);
        this.expression(statement.value);
        this.memoryAccess(stores[statement.name], statement.offset);
        if ('lane' in stores[statement.name]) out.byte(statement.lane);
        return;
      }
      case 'call':
        this.call(statement.callee, statement.operands);
        return;
      case 'copy':
        this.expression(statement.to);
        this.expression(statement.from);
        this.expression(statement.bytes);
        for (const byte of [0xfc, 0x0a, 0x00, 0x00]) out.byte(byte);
        return;
      case 'if':
        this.expression(statement.condition);
        out.byte(0x04);
        out.byte(noResult);
        this.nesting.push(null);
        this.statements(statement.then);
        if (statement.otherwise.length > 0) {
          out.byte(0x05);
          this.statements(statement.otherwise);
        }
        this.nesting.pop();
        out.byte(0x0b);
        return;
      case 'loop':
        for (const byte of [0x02, noResult, 0x03, noResult]) out.byte(byte);
        this.nesting.push({ label: statement.label, part: 'outside' }, { label: statement.label, part: 'inside' });
        this.statements(statement.body);
        this.nesting.length -= 2;
        out.byte(0x0b);
        out.byte(0x0b);
        return;
      case 'break':
        out.byte(0x0c);
        out.unsigned(this.depthOf(statement.label, 'outside'));
        return;
      case 'continue':
        out.byte(0x0c);
        out.unsigned(this.depthOf(statement.label, 'inside'));
        return;
      case 'return':
        if (statement.value !== null) this.expression(statement.value);
        out.byte(0x0f);
    }
  }

  private expression(expression: Expression): void {
    const { out } = this;
    switch (expression.kind) {
      case 'constant':
        this.constant(expression);
        return;
      case 'local':
        out.byte(0x20);
        out.unsigned(this.localNumber(expression.local));
        return;
      case 'operation': {
        for (const operand of expression.operands) this.expression(operand);
        const { prefix, code, lane }: { prefix?: number; code: number; lane?: true } = operations[expression.name];
        this.opcode(code, prefix);
        if (lane) out.byte(expression.lane);
        return;
      }
      case 'select':
        this.expression(expression.whenTrue);
        this.expression(expression.whenFalse);
        this.expression(expression.condition);
        out.byte(0x1b);
        return;
      case 'load':
        this.expression(expression.address);
        this.memoryAccess(loads[expression.name], expression.offset);
        return;
      case 'call':
        this.call(expression.callee, expression.operands);
    }
  }

  private constant(constant: Extract<Expression, { kind: 'constant' }>): void {
    const { out } = this;
    switch (constant.type) {
      case 'i32':
        out.byte(0x41);
        out.signed32(constant.value);
        return;
      case 'i64':
        out.byte(0x42);
        out.signed64(constant.value);
        return;
      case 'f64':
        out.byte(0x44);
        out.float64(constant.value);
        return;
      case 'v128':
        this.opcode(0x0c, 0xfd);
        out.float64(constant.value);
        out.float64(constant.value);
    }
  }

  private call(callee: FunctionCode, operands: readonly Expression[]): void {
    for (const operand of operands) this.expression(operand);
    this.out.byte(0x10);
    this.out.unsigned(numberOf(this.functionNumbers, callee));
  }

  private memoryAccess(instruction: { readonly code: number; readonly prefix?: number; readonly alignment: number }, offset: number): void {
    const { code, prefix, alignment } = instruction;
    this.opcode(code, prefix);
    this.out.byte(alignment);
    this.out.unsigned(offset);
  }

  private opcode(code: number, prefix?: number): void {
    if (prefix === undefined) {
      this.out.byte(code);
      return;
    }
    this.out.byte(prefix);
    this.out.unsigned(code);
  }

  private localNumber(variable: Local): number {
    return this.localNumbers.get(variable)!;
  }

  private depthOf(wanted: Label, part: 'outside' | 'inside'): number {
    for (let depth = 0; depth < this.nesting.length; depth += 1) {
      const entered = this.nesting[this.nesting.length - 1 - depth];
      if (entered && entered.label === wanted && entered.part === part) return depth;
    }
    throw new Error(`function "${this.code.name}": expected to be inside the loop "${wanted.name}"`);
  }
}
