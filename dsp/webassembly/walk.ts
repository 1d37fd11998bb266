/** What a function mentions: the one way through its trees, shared by those who need the variables before the code. */
import type { Expression, FunctionCode, Local, Statement } from './code.ts';

/** The locals of a function that are not parameters, in the order of their first mention. */
export function localsOf(code: FunctionCode): Local[] {
  const found = new Set<Local>(code.parameters);
  const inExpression = (expression: Expression): void => {
    if (expression.kind === 'local') found.add(expression.local);
    else for (const part of partsOf(expression)) inExpression(part);
  };
  const inStatements = (list: readonly Statement[]): void => {
    for (const statement of list) {
      for (const part of operandsOf(statement)) inExpression(part);
      if (statement.kind === 'set') found.add(statement.local);
      for (const inner of blocksOf(statement)) inStatements(inner);
    }
  };
  inStatements(code.body);
  return [...found].slice(code.parameters.length);
}

/** The expressions an expression is made of, in the order in which they are computed. */
export function partsOf(expression: Expression): readonly Expression[] {
  switch (expression.kind) {
    case 'operation':
    case 'call':
      return expression.operands;
    case 'select':
      return [expression.whenTrue, expression.whenFalse, expression.condition];
    case 'load':
      return [expression.address];
    case 'constant':
    case 'local':
      return [];
  }
}

/** The expressions a statement computes itself, in their order; those of its inner statements not counted. */
export function operandsOf(statement: Statement): readonly Expression[] {
  switch (statement.kind) {
    case 'set':
      return [statement.value];
    case 'store':
      return [statement.address, statement.value];
    case 'call':
      return statement.operands;
    case 'copy':
      return [statement.to, statement.from, statement.bytes];
    case 'if':
      return [statement.condition];
    case 'return':
      return statement.value === null ? [] : [statement.value];
    case 'loop':
    case 'break':
    case 'continue':
      return [];
  }
}

/** The statements inside a statement. */
export function blocksOf(statement: Statement): readonly (readonly Statement[])[] {
  if (statement.kind === 'if') return [statement.then, statement.otherwise];
  return statement.kind === 'loop' ? [statement.body] : [];
}
