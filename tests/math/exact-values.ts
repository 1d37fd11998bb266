// Reads tests/reference/functions/functions.json and measures errors in units of the last place.
import { readFileSync } from 'node:fs';

const table = JSON.parse(readFileSync(new URL('../reference/functions/functions.json', import.meta.url), 'utf8')) as Record<string, string[]>;
const view = new DataView(new ArrayBuffer(8));

function fromBits(hex: string): number {
  view.setBigUint64(0, BigInt(`0x${hex}`));
  return view.getFloat64(0);
}

export interface ExactPoint {
  readonly x: number;
  /** The exact value rounded to double. */
  readonly nearest: number;
  /** How far the exact value lies beyond `nearest`, in its ulp. */
  readonly beyondUlp: number;
}

/** The points of one function. Throws when the table has none. */
export function exactPoints(name: string): ExactPoint[] {
  const lines = table[name];
  if (lines === undefined || lines.length === 0) throw new Error(`no exact values of ${name}`);
  return lines.map((line) => {
    const [x, y, beyond] = line.split(' ');
    return { x: fromBits(x!), nearest: fromBits(y!), beyondUlp: Number(beyond) / 1000 };
  });
}

/** The distance from a double to the next one away from zero; subnormals count in 2^−1074. */
export function ulpOf(value: number): number {
  view.setFloat64(0, value);
  const exponent = Number((view.getBigUint64(0) >> 52n) & 0x7ffn);
  view.setBigUint64(0, BigInt(Math.max(exponent, 1)) << 52n);
  return view.getFloat64(0) * Number.EPSILON;
}

/** |actual − exact| in ulp of the nearest double; NaN where either is not a number. */
export function errorUlp(actual: number, point: ExactPoint): number {
  return Math.abs((actual - point.nearest) / ulpOf(point.nearest) - point.beyondUlp);
}

/** The point of largest error; a NaN wins. */
export function worstPoint(f: (x: number) => number, points: readonly ExactPoint[]): { x: number; ulp: number } {
  let worst = { x: 0, ulp: -1 };
  for (const point of points) {
    const ulp = errorUlp(f(point.x), point);
    if (!(ulp <= worst.ulp)) worst = { x: point.x, ulp };
    if (Number.isNaN(ulp)) break;
  }
  return worst;
}
