/**
 * The same functions in C++: what `encode.ts` writes as bytes, written as text that a compiler of C++17 turns into code with the same bits (no fused multiply-add: -ffp-contract=off). Control stays structured;
 * loops are a label before and one behind. Undefined in C++ where the original would stop: an address out of memory, a truncated number too large.
 */
import { localsOf, operandsOf, partsOf } from '../../../dsp/webassembly/index.ts';
import type { Expression, FunctionCode, Label, Local, ModuleCode, Statement, ValueType } from '../../../dsp/webassembly/index.ts';
import { isMask, masksOf } from './masks.ts';
import { maskOperators, operators } from './operators.ts';

const typeNames: Readonly<Record<ValueType, string>> = { i32: 'std::int32_t', i64: 'std::int64_t', f64: 'double', v128: 'v128' };

/** Exported functions keep their names behind `exported_`; `bytes` of memory. Needs prelude.hpp on the compiler's path. */
export function translateModule(module: ModuleCode, bytes: number): string {
  const names = new Map(module.functions.map((code, number) => [code, `f${number}_${plain(code.name)}`]));
  const nameOf = (code: FunctionCode): string => {
    const name = names.get(code);
    if (name === undefined) throw new Error(`function "${code.name}": expected one of the module's own`);
    return name;
  };
  const signature = (code: FunctionCode): string =>
    `static ${code.result === null ? 'void' : typeNames[code.result]} ${nameOf(code)}(${code.parameters.map(({ type }, k) => `${typeNames[type]} p${k}`).join(', ')})`;
  return [
    `static constexpr unsigned memoryBytes = ${bytes};`, '#include "prelude.hpp"',
    ...module.functions.map((code) => `${signature(code)};`),
    ...module.functions.map((code) => `${signature(code)} {\n${new BodyWriter(code, nameOf).lines().join('\n')}\n}`),
    ...Object.entries(module.exports).map(([name, code]) => `static constexpr auto exported_${plain(name)} = ${nameOf(code)};`),
    '',
  ].join('\n');
}

/** Letters, digits and underscores alone. */
const plain = (name: string): string => name.replace(/\W/g, '_');

class BodyWriter {
  private readonly code: FunctionCode;
  private readonly nameOf: (code: FunctionCode) => string;
  private readonly variables = new Map<Local, string>();
  private readonly labels = new Map<Label, string>();
  private readonly masks: ReadonlySet<Local>;
  private readonly out: string[] = [];
  private temporaries = 0;

  constructor(code: FunctionCode, nameOf: (code: FunctionCode) => string) {
    this.code = code;
    this.nameOf = nameOf;
    this.masks = masksOf(code);
    code.parameters.forEach((parameter, k) => this.variables.set(parameter, `p${k}`));
    localsOf(code).forEach((variable, k) => this.variables.set(variable, `v${k}_${plain(variable.name)}`));
  }

  lines(): string[] {
    for (const variable of localsOf(this.code)) this.out.push(`${typeNames[variable.type]} ${this.variables.get(variable)!}{};`);
    this.statements(this.code.body);
    if (this.code.result !== null) this.out.push('__builtin_unreachable();');
    return this.out;
  }

  private statements(list: readonly Statement[]): void {
    for (const statement of list) {
      // In braces where values are kept before it: no jump may pass over them.
      const kept = operandsOf(statement).some(calls);
      if (kept) this.out.push('{');
      this.statement(statement);
      if (kept) this.out.push('}');
    }
  }

  private statement(statement: Statement): void {
    const { out } = this;
    const texts = this.inOrder(operandsOf(statement));
    switch (statement.kind) {
      case 'set':
        out.push(`${this.variables.get(statement.local)!} = ${texts[0]};`);
        return;
      case 'store': {
        const value = statement.name === 'v128.store64_lane' ? `${texts[1]}[${statement.lane}]` : texts[1];
        out.push(`stored<${statement.name === 'v128.store64_lane' ? 'double' : typeNames[statement.value.type]}>(${texts[0]}, ${statement.offset}u, ${value});`);
        return;
      }
      case 'call':
        out.push(`${this.nameOf(statement.callee)}(${texts.join(', ')});`);
        return;
      case 'copy':
        out.push(`copied(${texts.join(', ')});`);
        return;
      case 'if':
        out.push(`if (${texts[0]}) {`);
        this.statements(statement.then);
        if (statement.otherwise.length > 0) {
          out.push('} else {');
          this.statements(statement.otherwise);
        }
        out.push('}');
        return;
      case 'loop': {
        const name = `${this.labels.size}_${plain(statement.label.name)}`;
        this.labels.set(statement.label, name);
        out.push(`top_${name}: __attribute__((unused)); {`);
        this.statements(statement.body);
        out.push(`} out_${name}: __attribute__((unused));`);
        return;
      }
      case 'break':
        out.push(`goto out_${this.labelOf(statement.label)};`);
        return;
      case 'continue':
        out.push(`goto top_${this.labelOf(statement.label)};`);
        return;
      case 'return':
        out.push(`return${texts.length === 0 ? '' : ` ${texts[0]}`};`);
    }
  }

  /** Texts of expressions that are computed one after the other. C++ leaves the order of operands open, so where one of them calls, all are kept in their order. */
  private inOrder(expressions: readonly Expression[]): string[] {
    const keep = expressions.some(calls);
    return expressions.map((expression) => {
      const text = this.text(expression);
      if (!keep || expression.kind === 'constant') return text;
      const name = `t${this.temporaries}`;
      this.temporaries += 1;
      this.out.push(`const ${typeNames[expression.type]} ${name} = ${text};`);
      return name;
    });
  }

  private text(expression: Expression): string {
    const parts = this.inOrder(partsOf(expression));
    switch (expression.kind) {
      case 'constant':
        return constantText(expression);
      case 'local':
        return this.variables.get(expression.local)!;
      case 'operation': {
        const mask = expression.operands.at(-1)!;
        const shorter = isMask(mask, this.masks) ? maskOperators[expression.name] : undefined;
        return (shorter ?? operators[expression.name])(parts, expression.lane);
      }
      case 'select':
        return `(${parts[2]} ? ${parts[0]} : ${parts[1]})`;
      case 'load':
        return expression.name === 'v128.load64_splat' ? `splat(loaded<double>(${parts[0]}, ${expression.offset}u))` : `loaded<${typeNames[expression.type]}>(${parts[0]}, ${expression.offset}u)`;
      case 'call':
        return `${this.nameOf(expression.callee)}(${parts.join(', ')})`;
    }
  }

  private labelOf(label: Label): string {
    const name = this.labels.get(label);
    if (name === undefined) throw new Error(`function "${this.code.name}": expected to be inside the loop "${label.name}"`);
    return name;
  }
}

function calls(expression: Expression): boolean {
  return expression.kind === 'call' || partsOf(expression).some(calls);
}

function constantText(constant: Extract<Expression, { kind: 'constant' }>): string {
  switch (constant.type) {
    case 'i32':
      return `std::int32_t(${constant.value}LL)`;
    case 'i64':
      return `std::int64_t(${BigInt.asUintN(64, constant.value)}ULL)`;
    case 'f64':
      return float64Text(constant.value);
    case 'v128':
      return `splat(${float64Text(constant.value)})`;
  }
}

/** JavaScript's shortest digits give the same float64 back in any correct reader; signs of zeros are kept. */
function float64Text(value: number): string {
  if (Number.isNaN(value)) return '__builtin_nan("")';
  if (!Number.isFinite(value)) return value > 0 ? '__builtin_inf()' : '(-__builtin_inf())';
  const digits = Object.is(value, -0) ? '-0' : String(value);
  return `(${/[.e]/.test(digits) ? digits : `${digits}.0`})`;
}
