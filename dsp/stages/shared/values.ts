/** Reading resolved values: complete and checked by `resolveValues`, so nothing is checked again. */
import type { StageValues } from '../contract.ts';

/** The number of a number parameter. */
export const numberOf = (values: StageValues, id: string): number => values[id] as number;
/** The option of a choice parameter. */
export const choiceOf = (values: StageValues, id: string): string => values[id] as string;
/** A reader of one record's numbers. */
export const numbersOf = (values: StageValues) => (id: string): number => numberOf(values, id);
