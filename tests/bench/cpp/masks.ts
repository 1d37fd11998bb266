/** Which variables of a function are masks: each lane all ones or all zeros, whatever path leads there. */
import { blocksOf, localsOf } from '../../../dsp/webassembly/index.ts';
import type { Expression, FunctionCode, Local, Statement } from '../../../dsp/webassembly/index.ts';
import { givesMask, keepsMask } from './operators.ts';

/** Whether an expression is a mask where the variables in `masks` are. */
export function isMask(expression: Expression, masks: ReadonlySet<Local>): boolean {
  if (expression.kind === 'local') return masks.has(expression.local);
  if (expression.kind !== 'operation') return false;
  return givesMask(expression.name) || (keepsMask(expression.name) && expression.operands.every((operand) => isMask(operand, masks)));
}

/** All that are set are supposed to be masks, then those are taken out that are set to something else, until none is. Zero, which they begin with, is one. */
export function masksOf(code: FunctionCode): Set<Local> {
  const sets: { readonly local: Local; readonly value: Expression }[] = [];
  const collect = (list: readonly Statement[]): void => {
    for (const statement of list) {
      if (statement.kind === 'set') sets.push(statement);
      for (const inner of blocksOf(statement)) collect(inner);
    }
  };
  collect(code.body);
  const masks = new Set(localsOf(code).filter(({ type }) => type === 'v128'));
  for (;;) {
    const wrong = sets.filter(({ local, value }) => masks.has(local) && !isMask(value, masks));
    if (wrong.length === 0) return masks;
    for (const { local } of wrong) masks.delete(local);
  }
}
