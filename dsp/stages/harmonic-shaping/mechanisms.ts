/** What makes harmonics in the shaping stage: the terms of its law. */
import type { Mechanism, StageValues } from '../contract.ts';
import { choiceOf } from '../shared/values.ts';
import { parameters } from './table.ts';

/** Top of the ceiling's range: the branch does not saturate below full scale. */
const highestCeilingDbu = ((): number => {
  const ceiling = parameters.find(({ id }) => id === 'ceilingDbu');
  if (ceiling?.kind !== 'number') throw new Error('ceilingDbu: expected a number of the table, got none');
  return ceiling.maximum;
})();

export function mechanisms(values: StageValues): readonly Mechanism[] {
  const [second, third] = [choiceOf(values, 'secondSign') !== 'off', choiceOf(values, 'thirdSign') !== 'off'];
  const term = (id: string, label: string, sign: string): Mechanism => ({ id, label, sentence: `The ${label} of the law is taken away, the rest of it stays.`, removal: { kind: 'values', values: { [sign]: 'off' } } });
  return [
    ...(second ? [term('second-order', 'second-order term', 'secondSign')] : []),
    ...(third ? [term('third-order', 'third-order term', 'thirdSign')] : []),
    ...(second || third ? [{
      id: 'ceiling', label: 'ceiling of the branch', sentence: `The ceiling of the branch is raised to the top of its range, ${highestCeilingDbu} dBu: below it the law is not rounded.`,
      removal: { kind: 'values' as const, values: { ceilingDbu: highestCeilingDbu } },
    }] : []),
  ];
}
