// Typed reader of checks.json and the one comparison that all tests against it use.
import { readFileSync } from 'node:fs';
import { expect } from 'vitest';

/** What a check allows; `value`, `plus`, `minus` and `floor` in the unit of the expected value (rel: a ratio). */
export interface Tolerance {
  readonly type: 'rel' | 'abs' | 'max' | 'info';
  readonly value?: number;
  readonly plus?: number;
  readonly minus?: number;
  readonly floor?: number;
  readonly floor_dB?: number;
  readonly note?: string;
}

export interface ReferenceCheck {
  readonly id: string;
  readonly quantity: string;
  // Each family has inputs of its own; the test that reads them knows their shape.
  readonly inputs: Readonly<Record<string, unknown>>;
  readonly expected: number | string | readonly number[] | readonly (readonly number[])[];
  readonly unit: string;
  readonly tolerance: Tolerance;
  readonly source: string;
  readonly verified: string;
  readonly formula: string;
  readonly evidence: string;
}

const all = JSON.parse(readFileSync(new URL('checks.json', import.meta.url), 'utf8')) as ReferenceCheck[];
const byId = new Map(all.map((entry) => [entry.id, entry]));

/** The check of this identifier. Throws for an unknown one. */
export function check(id: string): ReferenceCheck {
  const found = byId.get(id);
  if (found === undefined) throw new Error(`no reference check "${id}"`);
  return found;
}

/** All checks whose identifier starts with the prefix, in file order. Throws when there is none. */
export function checksOf(prefix: string): ReferenceCheck[] {
  const found = all.filter((entry) => entry.id.startsWith(prefix));
  if (found.length === 0) throw new Error(`no reference check starts with "${prefix}"`);
  return found;
}

/** Input of a check as a number. Throws when it is not one. */
export function numberInput(entry: ReferenceCheck, name: string): number {
  const value = entry.inputs[name];
  if (typeof value !== 'number') throw new Error(`${entry.id}: input "${name}": expected a number, got ${JSON.stringify(value)}`);
  return value;
}

/** Input of a check as a list of numbers. Throws when it is not one. */
export function numbersInput(entry: ReferenceCheck, name: string): number[] {
  const value = entry.inputs[name];
  if (!Array.isArray(value) || !value.every((item) => typeof item === 'number')) {
    throw new Error(`${entry.id}: input "${name}": expected numbers, got ${JSON.stringify(value)}`);
  }
  return value as number[];
}

/** The expected values of a check as one flat list (nested lists row by row). Throws for a text. */
export function expectedNumbers(entry: ReferenceCheck): number[] {
  if (typeof entry.expected === 'string') throw new Error(`${entry.id}: expected numbers, got the text "${entry.expected}"`);
  return typeof entry.expected === 'number' ? [entry.expected] : (entry.expected as readonly (number | readonly number[])[]).flat();
}

/** One line for each value that misses; empty when all hold. `tolerance` replaces the check's own where a test must allow another. */
export function misses(entry: ReferenceCheck, actual: number | readonly number[], tolerance: Tolerance = entry.tolerance): string[] {
  const expected = expectedNumbers(entry);
  const values = typeof actual === 'number' ? [actual] : actual;
  if (values.length !== expected.length) return [`${entry.id}: expected ${expected.length} values, got ${values.length}`];
  const lines: string[] = [];
  values.forEach((value, index) => {
    const [lowest, highest] = allowed(entry.id, expected[index]!, tolerance);
    if (!(value >= lowest && value <= highest)) {
      lines.push(`${entry.id}[${index}]: got ${value}, expected ${expected[index]}, error ${value - expected[index]!}, allowed ${lowest} … ${highest} ${entry.unit}`);
    }
  });
  return lines;
}

/** Fails the test unless every value is within the tolerance; NaN and a wrong length fail. */
export function expectWithin(entry: ReferenceCheck, actual: number | readonly number[], tolerance: Tolerance = entry.tolerance): void {
  expect(misses(entry, actual, tolerance)).toEqual([]);
}

function allowed(id: string, expected: number, tolerance: Tolerance): [lowest: number, highest: number] {
  if (tolerance.type === 'max') return [-Infinity, expected];
  if (tolerance.type === 'info') throw new Error(`${id}: states a fact; there is nothing to compare`);
  if (tolerance.floor_dB !== undefined && expected <= tolerance.floor_dB) return [-Infinity, tolerance.floor_dB];
  if (tolerance.floor !== undefined && Math.abs(expected) < tolerance.floor) return [expected - tolerance.floor, expected + tolerance.floor];
  const scale = tolerance.type === 'rel' ? Math.abs(expected) : 1;
  const plus = tolerance.plus ?? tolerance.value;
  const minus = tolerance.minus ?? tolerance.value;
  if (plus === undefined || minus === undefined) throw new Error(`${id}: tolerance states neither value nor plus and minus`);
  return [expected - minus * scale, expected + plus * scale];
}
