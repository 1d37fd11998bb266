/** From trees to the bytes of a module: binary format of the WebAssembly core specification 2.0 (W3C 2022), chapter 5. */
import type { Expression, FunctionCode, Label, Local, ModuleCode, Statement } from './code.ts';
import { loads, operations, stores } from './operations.ts';
import type { ValueType } from './operations.ts';
import { localsOf } from './walk.ts';

/** Name of the imported memory, both parts. */
export const memoryImport = { module: 'bench', field: 'memory' } as const;

const typeCodes: Readonly<Record<ValueType, number>> = { i32: 0x7f, i64: 0x7e, f64: 0x7c, v128: 0x7b };
const noResult = 0x40;
const section = { type: 1, import: 2, function: 3, export: 7, code: 10 } as const;

/** LEB128, unsigned: 0 … 2^32 − 1. */
export function unsignedLeb128(value: number): number[] {
  if (!(Number.isInteger(value) && value >= 0 && value <= 0xffffffff)) throw new RangeError(`LEB128: expected an integer of 0 … 2^32 − 1, got ${value}`);
  const bytes: number[] = [];
  let rest = value;
  while (rest >= 128) {
    bytes.push((rest % 128) + 128);
    rest = Math.floor(rest / 128);
  }
  bytes.push(rest);
  return bytes;
}

/** LEB128, signed: −2^63 … 2^63 − 1. */
export function signedLeb128(value: bigint): number[] {
  if (BigInt.asIntN(64, value) !== value) throw new RangeError(`LEB128: expected an integer of −2^63 … 2^63 − 1, got ${value}`);
  const bytes: number[] = [];
  let rest = value;
  for (;;) {
    const low = Number(rest & 0x7fn);
    rest >>= 7n;
    if ((rest === 0n && low < 64) || (rest === -1n && low >= 64)) {
      bytes.push(low);
      return bytes;
    }
    bytes.push(low + 128);
  }
}

/**
 * The module: it imports one memory ("bench" "memory", at least one page) and exports functions. Throws where a function calls one that is not in the module or leaves a loop it is
 * not in.
 */
export function encodeModule(module: ModuleCode): Uint8Array<ArrayBuffer> {
  const numbers = new Map(module.functions.map((code, number) => [code, number]));
  const signatures: string[] = [];
  const signatureBytes: number[][] = [];
  const signatureOf = (code: FunctionCode): number => {
    const bytes = [0x60, ...vectorOf(code.parameters.map(({ type }) => [typeCodes[type]])), ...vectorOf(code.result === null ? [] : [[typeCodes[code.result]]])];
    const key = bytes.join(',');
    const known = signatures.indexOf(key);
    if (known >= 0) return known;
    signatures.push(key);
    signatureBytes.push(bytes);
    return signatures.length - 1;
  };
  const typeNumbers = module.functions.map((code) => unsignedLeb128(signatureOf(code)));
  const exported = Object.entries(module.exports).map(([name, code]) => [...nameBytes(name), 0x00, ...unsignedLeb128(numberOf(numbers, code))]);
  const bodies = module.functions.map((code) => {
    const body = new BodyWriter(code, numbers).bytes();
    return [...unsignedLeb128(body.length), ...body];
  });
  return Uint8Array.from([
    0x00, 0x61, 0x73, 0x6d, 0x01, 0x00, 0x00, 0x00,
    ...sectionOf(section.type, vectorOf(signatureBytes)),
    ...sectionOf(section.import, vectorOf([[...nameBytes(memoryImport.module), ...nameBytes(memoryImport.field), 0x02, 0x00, 0x01]])),
    ...sectionOf(section.function, vectorOf(typeNumbers)),
    ...sectionOf(section.export, vectorOf(exported)),
    ...sectionOf(section.code, vectorOf(bodies)),
  ]);
}

/** Bytes of each function's body, in the order of their numbers. */
export function functionBytes(module: ModuleCode): number[] {
  const numbers = new Map(module.functions.map((code, number) => [code, number]));
  return module.functions.map((code) => new BodyWriter(code, numbers).bytes().length);
}

function vectorOf(entries: readonly (readonly number[])[]): number[] {
  return [...unsignedLeb128(entries.length), ...entries.flat()];
}

function sectionOf(identifier: number, content: readonly number[]): number[] {
  return [identifier, ...unsignedLeb128(content.length), ...content];
}

function nameBytes(name: string): number[] {
  if (!/^[\x20-\x7e]+$/.test(name)) throw new RangeError(`name: expected printable ASCII characters, got "${name}"`);
  return [...unsignedLeb128(name.length), ...Array.from(name, (letter) => letter.charCodeAt(0))];
}

function numberOf(numbers: ReadonlyMap<FunctionCode, number>, code: FunctionCode): number {
  const number = numbers.get(code);
  if (number === undefined) throw new Error(`function "${code.name}": expected one of the module's own (${[...numbers.keys()].map(({ name }) => name).join(', ')})`);
  return number;
}

const float = new DataView(new ArrayBuffer(8));

function float64Bytes(value: number): number[] {
  float.setFloat64(0, value, true);
  return Array.from({ length: 8 }, (_, k) => float.getUint8(k));
}

class BodyWriter {
  private readonly out: number[] = [];
  private readonly code: FunctionCode;
  private readonly functionNumbers: ReadonlyMap<FunctionCode, number>;
  private readonly localNumbers = new Map<Local, number>();
  /** Of each run of locals of one type, how many and which. */
  private readonly declarations: number[][] = [];
  /** Constructs entered, innermost last; null: an if. A loop has two: its block to break from, and itself. */
  private readonly nesting: ({ readonly label: Label; readonly part: 'outside' | 'inside' } | null)[] = [];

  constructor(code: FunctionCode, functionNumbers: ReadonlyMap<FunctionCode, number>) {
    this.code = code;
    this.functionNumbers = functionNumbers;
    for (const parameter of code.parameters) this.localNumbers.set(parameter, this.localNumbers.size);
    const locals = localsOf(code);
    for (const [type, typeCode] of Object.entries(typeCodes)) {
      const ofType = locals.filter((variable) => variable.type === type);
      for (const variable of ofType) this.localNumbers.set(variable, this.localNumbers.size);
      if (ofType.length > 0) this.declarations.push([...unsignedLeb128(ofType.length), typeCode]);
    }
  }

  bytes(): number[] {
    this.statements(this.code.body);
    // The body of a function with a result returns inside: what follows is never reached.
    if (this.code.result !== null) this.out.push(0x00);
    this.out.push(0x0b);
    return [...vectorOf(this.declarations), ...this.out];
  }

  private statements(list: readonly Statement[]): void {
    for (const statement of list) this.statement(statement);
  }

  private statement(statement: Statement): void {
    const { out } = this;
    switch (statement.kind) {
      case 'set':
        this.expression(statement.value);
        out.push(0x21, ...unsignedLeb128(this.localNumber(statement.local)));
        return;
      case 'store': {
        this.expression(statement.address);
        this.expression(statement.value);
        this.memoryAccess(stores[statement.name], statement.offset);
        if ('lane' in stores[statement.name]) out.push(statement.lane);
        return;
      }
      case 'call':
        this.call(statement.callee, statement.operands);
        return;
      case 'copy':
        this.expression(statement.to);
        this.expression(statement.from);
        this.expression(statement.bytes);
        out.push(0xfc, 0x0a, 0x00, 0x00);
        return;
      case 'if':
        this.expression(statement.condition);
        out.push(0x04, noResult);
        this.nesting.push(null);
        this.statements(statement.then);
        if (statement.otherwise.length > 0) {
          out.push(0x05);
          this.statements(statement.otherwise);
        }
        this.nesting.pop();
        out.push(0x0b);
        return;
      case 'loop':
        out.push(0x02, noResult, 0x03, noResult);
        this.nesting.push({ label: statement.label, part: 'outside' }, { label: statement.label, part: 'inside' });
        this.statements(statement.body);
        this.nesting.length -= 2;
        out.push(0x0b, 0x0b);
        return;
      case 'break':
        out.push(0x0c, ...unsignedLeb128(this.depthOf(statement.label, 'outside')));
        return;
      case 'continue':
        out.push(0x0c, ...unsignedLeb128(this.depthOf(statement.label, 'inside')));
        return;
      case 'return':
        if (statement.value !== null) this.expression(statement.value);
        out.push(0x0f);
    }
  }

  private expression(expression: Expression): void {
    const { out } = this;
    switch (expression.kind) {
      case 'constant':
        this.constant(expression);
        return;
      case 'local':
        out.push(0x20, ...unsignedLeb128(this.localNumber(expression.local)));
        return;
      case 'operation': {
        for (const operand of expression.operands) this.expression(operand);
        const { prefix, code, lane }: { prefix?: number; code: number; lane?: true } = operations[expression.name];
        if (prefix === undefined) out.push(code);
        else out.push(prefix, ...unsignedLeb128(code));
        if (lane) out.push(expression.lane);
        return;
      }
      case 'select':
        this.expression(expression.whenTrue);
        this.expression(expression.whenFalse);
        this.expression(expression.condition);
        out.push(0x1b);
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
    switch (constant.type) {
      case 'i32':
        this.out.push(0x41, ...signedLeb128(BigInt(constant.value)));
        return;
      case 'i64':
        this.out.push(0x42, ...signedLeb128(constant.value));
        return;
      case 'f64':
        this.out.push(0x44, ...float64Bytes(constant.value));
        return;
      case 'v128':
        this.out.push(0xfd, 0x0c, ...float64Bytes(constant.value), ...float64Bytes(constant.value));
    }
  }

  private call(callee: FunctionCode, operands: readonly Expression[]): void {
    for (const operand of operands) this.expression(operand);
    this.out.push(0x10, ...unsignedLeb128(numberOf(this.functionNumbers, callee)));
  }

  private memoryAccess({ code, prefix, alignment }: { readonly code: number; readonly prefix?: number; readonly alignment: number }, offset: number): void {
    if (prefix === undefined) this.out.push(code);
    else this.out.push(prefix, ...unsignedLeb128(code));
    this.out.push(alignment, ...unsignedLeb128(offset));
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
