/** The functions of `dsp/math` as code, held against `dsp/math` itself; in Node and in the browser. */
import { exp, log, SeededRandom, tanh } from '../../dsp/math/index.ts';
import {
  clampCode, countUp, defineFunction, encodeModule, expCode, get, i32, local, logCode, memoryImport, scalarLane, tanhCode, vectorLanes,
} from '../../dsp/webassembly/index.ts';
import type { Expression, InlineCode, Lanes } from '../../dsp/webassembly/index.ts';

interface Case {
  readonly inline: (lanes: Lanes, x: Expression) => InlineCode;
  readonly expected: (x: number) => number;
  readonly points: (random: SeededRandom, count: number) => number[];
}

const edges = [
  0, -0, 1, -1, 0.5, 2, Math.SQRT2, Math.SQRT1_2, Math.LN2, -Math.LN2, 1e-300, -1e-300, Number.EPSILON, 5e-324, -5e-324, 2.2250738585072009e-308, 2.2250738585072014e-308,
  Number.MAX_VALUE, -Number.MAX_VALUE, Infinity, -Infinity, NaN, 22.5, -22.5, 22.500001, 45, -45, 700, -100, 708, -708, 709, -709, 710, -746,
];

/** Any double: sign, exponent and significand all at random. */
function anyDouble(random: SeededRandom): number {
  const float = new Float64Array(1);
  const words = new Uint32Array(float.buffer);
  words[0] = random.nextUint32();
  words[1] = random.nextUint32();
  return float[0]!;
}

/** Round k ln 2 / 2, where the exponent changes, and powers of two. */
function nearSteps(random: SeededRandom): number {
  const k = Math.round(2040 * random.nextUnit() - 1020);
  const close = 1 + (random.nextUnit() - 0.5) * 2 ** -Math.round(50 * random.nextUnit());
  return random.nextUnit() < 0.5 ? ((k * Math.LN2) / 2) * close : 2 ** k * (random.nextUnit() < 0.5 ? Math.SQRT2 : 1) * close;
}

const spread = (low: number, high: number) => (random: SeededRandom, count: number): number[] => [
  ...edges,
  ...Array.from({ length: count }, (_, k) => (k % 3 === 0 ? anyDouble(random) : k % 3 === 1 ? nearSteps(random) : low + (high - low) * random.nextUnit())),
];
const clamped = (low: number, high: number) => (x: number): number => (x < low ? low : x > high ? high : x);

export const cases: Readonly<Record<string, Case>> = {
  'e^x where it is used: from −100 to 700': {
    inline: (lanes, x) => chained(lanes, clampCode(lanes, x, -100, 700), expCode),
    expected: (x) => exp(clamped(-100, 700)(x)),
    points: spread(-101, 701),
  },
  'e^x in its whole range: from −708 to 709': {
    inline: (lanes, x) => chained(lanes, clampCode(lanes, x, -708, 709), expCode),
    expected: (x) => exp(clamped(-708, 709)(x)),
    points: spread(-709, 710),
  },
  'the natural logarithm': { inline: logCode, expected: log, points: spread(0, 4) },
  'tanh': { inline: tanhCode, expected: tanh, points: spread(-24, 24) },
};

function chained(lanes: Lanes, first: InlineCode, then: (lanes: Lanes, x: Expression) => InlineCode): InlineCode {
  const second = then(lanes, first.value);
  return { statements: [...first.statements, ...second.statements], value: second.value };
}

export interface Misses {
  readonly points: number;
  readonly different: number;
  /** The first few, for the message. */
  readonly examples: readonly string[];
}

/** Compares bits at the edges and at `count` seeded points; NaN equals NaN. In two lanes the second holds the list backwards. */
export function missesOf({ inline, expected, points }: Case, lanes: Lanes, count: number): Misses {
  const list = points(new SeededRandom(20261125), count);
  const memory = new WebAssembly.Memory({ initial: Math.ceil((list.length * lanes.bytes) / 65_536) });
  const values = new Float64Array(memory.buffer, 0, list.length * lanes.count);
  const other = (k: number): number => list[list.length - 1 - k]!;
  list.forEach((x, k) => {
    values[k * lanes.count] = x;
    if (lanes.count === 2) values[2 * k + 1] = other(k);
  });
  const bytes = local('i32', 'bytes');
  const at = local('i32', 'at');
  const run = defineFunction('run', [bytes]);
  const { statements, value } = inline(lanes, lanes.load(get(at), 0));
  run.body.push(...countUp(at, i32(0), get(bytes), lanes.bytes, [...statements, lanes.store(get(at), 0, value)]));
  const module = new WebAssembly.Module(encodeModule({ functions: [run], exports: { run } }));
  const instance = new WebAssembly.Instance(module, { [memoryImport.module]: { [memoryImport.field]: memory } });
  (instance.exports['run'] as (bytes: number) => void)(list.length * lanes.bytes);
  const examples: string[] = [];
  let different = 0;
  for (let k = 0; k < list.length; k += 1) {
    for (let lane = 0; lane < lanes.count; lane += 1) {
      const x = lane === 0 ? list[k]! : other(k);
      const got = values[k * lanes.count + lane]!;
      const wanted = expected(x);
      if (Object.is(got, wanted)) continue;
      different += 1;
      if (examples.length < 5) examples.push(`f(${x}): expected ${wanted}, got ${got} in lane ${lane}`);
    }
  }
  return { points: list.length, different, examples };
}

export const everyLanes: readonly (readonly [string, Lanes])[] = [['one lane', scalarLane], ['two lanes', vectorLanes]];
