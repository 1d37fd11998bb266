/** Command-line words → checked values; every refusal names the option, what it expects and what it got. */
import { parseArgs } from 'node:util';
import type { ParseArgsConfig } from 'node:util';
import { isDate } from '../../dsp/setting/index.ts';
import { InputFailure } from './failure.ts';

export type Options = NonNullable<ParseArgsConfig['options']>;

export interface Words {
  text(name: string): string | undefined;
  required(name: string): string;
  flag(name: string): boolean;
  number(name: string, limits: { minimum: number; maximum: number; otherwise?: number }): number;
  readonly positionals: readonly string[];
}

/** @throws InputFailure on unknown options or missing values */
export function readWords(verb: string, args: readonly string[], options: Options, positionalCount = 0): Words {
  let values: Record<string, unknown>;
  let positionals: string[];
  try {
    ({ values, positionals } = parseArgs({ args: withNegatives(args, options), options, allowPositionals: true, strict: true }));
  } catch (error) {
    throw new InputFailure(`${verb}: ${(error as Error).message.split('. ')[0]}; see stagebench ${verb} --help`);
  }
  if (positionals.length !== positionalCount) {
    throw new InputFailure(`${verb}: expected ${positionalCount} word${positionalCount === 1 ? '' : 's'} besides the options, got ${positionals.length === 0 ? 'none' : positionals.join(' ')}`);
  }
  const text = (name: string) => values[name] as string | undefined;
  const required = (name: string) => {
    const value = text(name);
    if (value === undefined) throw new InputFailure(`${verb}: expected --${name}, got nothing; see stagebench ${verb} --help`);
    return value;
  };
  return {
    positionals,
    text,
    required,
    flag: (name) => values[name] === true,
    number: (name, { minimum, maximum, otherwise }) => {
      const written = otherwise === undefined ? required(name) : text(name);
      return written === undefined ? otherwise! : readNumber(`--${name}`, written, minimum, maximum);
    },
  };
}

/** `--level-dbu -40` as one word: a number below 0 after an option that takes a value is that value, and no option of its own. */
function withNegatives(args: readonly string[], options: Options): string[] {
  const joined: string[] = [];
  for (const arg of args) {
    const before = joined.at(-1);
    if (/^-\.?\d/.test(arg) && before?.startsWith('--') && options[before.slice(2)]?.type === 'string') joined[joined.length - 1] = `${before}=${arg}`;
    else joined.push(arg);
  }
  return joined;
}

/** @throws InputFailure unless `written` is a plain number within the limits */
export function readNumber(where: string, written: string, minimum: number, maximum: number): number {
  const value = written.trim() === '' ? NaN : Number(written);
  if (!(value >= minimum && value <= maximum)) throw new InputFailure(`${where}: expected a number from ${minimum} to ${maximum}, got ${written}`);
  return value;
}

/** "2-9" or "2,3,5" → orders ascending, each once. */
export function readOrders(where: string, written: string): number[] {
  const orders = new Set<number>();
  for (const part of written.split(',')) {
    const range = /^(\d+)(?:-(\d+))?$/.exec(part.trim());
    const first = Number(range?.[1]);
    const last = Number(range?.[2] ?? range?.[1]);
    if (!range || first < 2 || last > 50 || last < first) throw new InputFailure(`${where}: expected orders from 2 to 50 such as 2-9 or 2,3,5, got ${written}`);
    for (let order = first; order <= last; order += 1) orders.add(order);
  }
  return [...orders].sort((a, b) => a - b);
}

/** A day to be written into a document; null: none. @throws InputFailure */
export function readDay(where: string, written: string | undefined): string | null {
  if (written === undefined) return null;
  if (!isDate(written)) throw new InputFailure(`${where}: expected a day such as 2026-11-26, got ${written}`);
  return written;
}
