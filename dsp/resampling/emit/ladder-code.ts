/**
 * The ladder's work as a module, operation by operation as `ladder-loops.ts`: filters take neighbouring frames in the two lanes, all-pass pairs their two paths. (The two channels in
 * the lanes would do as well for two channels and waste a lane on one.)
 */
import {
  countUp, defineFunction, encodeModule, f64, f64x2, get, i32, laneOperation, leave, load, local, again, label, operation, repeat, set, store, vectorLanes, scalarLane, when,
} from '../../webassembly/index.ts';
import type { Expression, FunctionCode, Lanes, Local, Statement } from '../../webassembly/index.ts';
import { SMALLEST_STATE } from '../stage-runner.ts';

export const ladderModuleKey = 'resampling ladder';

/** The bytes of the module; the same each time. */
export function emitLadder(): Uint8Array<ArrayBuffer> {
  const functions = [takeIn(), split(), interpolate(), decimate(), double(), halve(), allPass(), delay()];
  return encodeModule({ functions, exports: Object.fromEntries(functions.map((code) => [code.name, code])) });
}

const plus = (a: Expression, b: Expression): Expression => operation('i32.add', a, b);
const minus = (a: Expression, b: Expression): Expression => operation('i32.sub', a, b);
/** Bytes of so many float64s. */
const bytes = (count: Expression): Expression => operation('i32.shl', count, i32(3));
const advance = (pointer: Local, by: number): Statement => set(pointer, plus(get(pointer), i32(by)));

/** `body` while at least `step` of `remaining` are left, each round taking them. */
function rounds(remaining: Local, step: number, body: readonly Statement[]): Statement {
  const name = label(`${remaining.name} by ${step}`);
  return repeat(name, [
    when(operation('i32.lt_s', get(remaining), i32(step)), [leave(name)]),
    ...body,
    advance(remaining, -step),
    again(name),
  ]);
}

/** 0 where |value| is below the smallest state; `value` is used twice. */
function masked(lanes: Lanes, value: Local): Expression {
  const small = lanes.lt(lanes.abs(get(value)), lanes.constant(SMALLEST_STATE));
  return lanes.count === 2 ? operation('v128.andnot', get(value), small) : lanes.choose(small, lanes.constant(0), get(value));
}

function takeIn(): FunctionCode {
  const [from, to, frames] = [local('i32', 'from'), local('i32', 'to'), local('i32', 'frames')];
  const [pair, single] = [local('v128', 'pair'), local('f64', 'single')];
  const code = defineFunction('takeIn', [from, to, frames]);
  code.body.push(
    rounds(frames, 2, [set(pair, load('v128.load', get(from))), store('v128.store', get(to), 0, masked(vectorLanes, pair)), advance(from, 16), advance(to, 16)]),
    rounds(frames, 1, [set(single, load('f64.load', get(from))), store('f64.store', get(to), 0, masked(scalarLane, single))]),
  );
  return code;
}

function split(): FunctionCode {
  const [from, frames, even, odd] = [local('i32', 'from'), local('i32', 'frames'), local('i32', 'even'), local('i32', 'odd')];
  const code = defineFunction('split', [from, frames, even, odd]);
  const pair = local('v128', 'pair');
  code.body.push(rounds(frames, 1, [
    set(pair, load('v128.load', get(from))),
    store('v128.store64_lane', get(even), 0, get(pair), 0),
    store('v128.store64_lane', get(odd), 0, get(pair), 1),
    advance(from, 16), advance(even, 8), advance(odd, 8),
  ]));
  return code;
}

/** Frames summed side by side: four vectors. */
const vectors = [0, 1, 2, 3] as const;
const framesAtOnce = 2 * vectors.length;

/** sums += tap (newest + oldest) over all taps, the two pointers moving towards each other. */
function overTaps(lanes: Lanes, sums: readonly Local[], taps: Expression, end: Local, newest: Local, oldest: Local): readonly Statement[] {
  const [tapAt, tap] = [local('i32', 'tapAt'), local(lanes.type, 'tap')];
  return countUp(tapAt, taps, get(end), 8, [
    set(tap, lanes.loadShared(get(tapAt), 0)),
    ...sums.map((sum, k) => set(sum, lanes.add(get(sum), lanes.mul(get(tap), lanes.add(lanes.load(get(newest), 16 * k), lanes.load(get(oldest), 16 * k)))))),
    advance(newest, -8), advance(oldest, 8),
  ]);
}

function interpolate(): FunctionCode {
  const [x, start, taps, count] = [local('i32', 'x'), local('i32', 'start'), local('i32', 'taps'), local('i32', 'count')];
  const [frames, output] = [local('i32', 'frames'), local('i32', 'output')];
  const [end, newest, oldest] = [local('i32', 'end'), local('i32', 'newest'), local('i32', 'oldest')];
  const sums = vectors.map((k) => local('v128', `sums${k}`));
  const sum = local('f64', 'sum');
  const from = (): Statement[] => [set(newest, plus(get(x), bytes(get(start)))), set(oldest, get(x))];
  const code = defineFunction('interpolate', [x, start, taps, count, frames, output]);
  code.body.push(
    set(end, plus(get(taps), bytes(get(count)))),
    rounds(frames, framesAtOnce, [
      ...from(),
      ...sums.map((each) => set(each, f64x2(0))),
      ...overTaps(vectorLanes, sums, get(taps), end, newest, oldest),
      ...sums.flatMap((each, k) => [
        set(each, masked(vectorLanes, each)),
        store('v128.store64_lane', get(output), 32 * k, get(each), 0),
        store('f64.store', get(output), 32 * k + 8, load('f64.load', get(oldest), 16 * k)),
        store('v128.store64_lane', get(output), 32 * k + 16, get(each), 1),
        store('f64.store', get(output), 32 * k + 24, load('f64.load', get(oldest), 16 * k + 8)),
      ]),
      advance(x, 8 * framesAtOnce), advance(output, 16 * framesAtOnce),
    ]),
    rounds(frames, 1, [
      ...from(),
      set(sum, f64(0)),
      ...overTaps(scalarLane, [sum], get(taps), end, newest, oldest),
      store('f64.store', get(output), 0, masked(scalarLane, sum)),
      store('f64.store', get(output), 8, load('f64.load', get(oldest))),
      advance(x, 8), advance(output, 16),
    ]),
  );
  return code;
}

function decimate(): FunctionCode {
  const [even, odd, taps, count] = [local('i32', 'even'), local('i32', 'odd'), local('i32', 'taps'), local('i32', 'count')];
  const [frames, output] = [local('i32', 'frames'), local('i32', 'output')];
  const [end, newest, oldest, centre] = [local('i32', 'end'), local('i32', 'newest'), local('i32', 'oldest'), local('i32', 'centre')];
  const sums = vectors.map((k) => local('v128', `sums${k}`));
  const sum = local('f64', 'sum');
  const from = (): Statement[] => [set(newest, minus(plus(get(even), bytes(operation('i32.shl', get(count), i32(1)))), i32(8))), set(oldest, get(even))];
  const code = defineFunction('decimate', [even, odd, taps, count, frames, output]);
  code.body.push(
    set(end, plus(get(taps), bytes(get(count)))),
    set(centre, minus(plus(get(odd), bytes(get(count))), i32(8))),
    rounds(frames, framesAtOnce, [
      ...from(),
      ...sums.map((each, k) => set(each, vectorLanes.mul(f64x2(0.5), load('v128.load', get(centre), 16 * k)))),
      ...overTaps(vectorLanes, sums, get(taps), end, newest, oldest),
      ...sums.map((each, k) => store('v128.store', get(output), 16 * k, masked(vectorLanes, each))),
      advance(even, 8 * framesAtOnce), advance(centre, 8 * framesAtOnce), advance(output, 8 * framesAtOnce),
    ]),
    rounds(frames, 1, [
      ...from(),
      set(sum, scalarLane.mul(f64(0.5), load('f64.load', get(centre)))),
      ...overTaps(scalarLane, [sum], get(taps), end, newest, oldest),
      store('f64.store', get(output), 0, masked(scalarLane, sum)),
      advance(even, 8), advance(centre, 8), advance(output, 8),
    ]),
  );
  return code;
}

function double(): FunctionCode {
  const [from, frames, output] = [local('i32', 'from'), local('i32', 'frames'), local('i32', 'output')];
  const code = defineFunction('double', [from, frames, output]);
  code.body.push(rounds(frames, 1, [store('v128.store', get(output), 0, load('v128.load64_splat', get(from))), advance(from, 8), advance(output, 16)]));
  return code;
}

function halve(): FunctionCode {
  const [pairs, frames, output] = [local('i32', 'pairs'), local('i32', 'frames'), local('i32', 'output')];
  const sum = local('f64', 'sum');
  const code = defineFunction('halve', [pairs, frames, output]);
  const small = scalarLane.lt(scalarLane.abs(get(sum)), f64(SMALLEST_STATE));
  code.body.push(rounds(frames, 1, [
    set(sum, scalarLane.add(load('f64.load', get(pairs), 8), load('f64.load', get(pairs)))),
    store('f64.store', get(output), 0, scalarLane.choose(small, f64(0), scalarLane.mul(f64(0.5), get(sum)))),
    advance(pairs, 16), advance(output, 8),
  ]));
  return code;
}

interface Section {
  readonly coefficient: Local;
  readonly output: Local;
}

/** What one frame needs while it goes from section to section. */
interface Passage {
  /** Goes in and comes out. */
  readonly value: Local;
  /** Last input of the first section. */
  readonly past: Local;
  readonly before: Local;
  readonly unmasked: Local;
  /** All bits of the lane that the last of an odd number of sections is in. */
  readonly lastLane: Local;
}

/**
 * y = a x + last input − a last output, section after section: the last input of every section but the first is the last output of the one before. `half`: the last section is
 * in one lane alone, and the other lane passes it by.
 */
function sectionsOnce(sections: readonly Section[], { value, past, before, unmasked, lastLane }: Passage, half: boolean): readonly Statement[] {
  const { add, sub, mul, choose } = vectorLanes;
  return [
    set(before, get(past)),
    set(past, get(value)),
    ...sections.flatMap(({ coefficient, output }, k) => [
      set(unmasked, sub(add(mul(get(coefficient), get(value)), get(before)), mul(get(coefficient), get(output)))),
      set(before, get(output)),
      set(output, masked(vectorLanes, unmasked)),
      set(value, half && k === sections.length - 1 ? choose(get(lastLane), get(output), get(value)) : get(output)),
    ]),
  ];
}

/**
 * Both lanes, groups of four, two and one sections over the whole block, so that their states stay in registers. `half`: the last of the `count` sections is in lane 0 (0) or 1 (1)
 * alone; −1: it is in both. (What the other lane computes of it stays in its own states, which nothing reads.)
 */
function allPass(): FunctionCode {
  const [samples, frames, coefficients, states, count, half] = [
    local('i32', 'samples'), local('i32', 'frames'), local('i32', 'coefficients'), local('i32', 'states'), local('i32', 'count'), local('i32', 'half'),
  ];
  const [at, end] = [local('i32', 'at'), local('i32', 'end')];
  const passage: Passage = {
    value: local('v128', 'value'), past: local('v128', 'past'), before: local('v128', 'before'), unmasked: local('v128', 'unmasked'), lastLane: local('v128', 'lastLane'),
  };
  const { value, past, lastLane } = passage;
  const sections = [0, 1, 2, 3].map((k): Section => ({ coefficient: local('v128', `coefficient${k}`), output: local('v128', `output${k}`) }));
  const laneNumbers = laneOperation('f64x2.replace_lane', 1, f64x2(0), f64(1));
  const code = defineFunction('allPass', [samples, frames, coefficients, states, count, half]);
  code.body.push(
    set(end, plus(get(samples), operation('i32.shl', get(frames), i32(4)))),
    set(lastLane, operation('f64x2.eq', laneNumbers, operation('f64x2.splat', operation('f64.convert_i32_s', get(half))))),
  );
  for (const size of [4, 2, 1]) {
    const group = sections.slice(0, size);
    const overBlock = (withHalf: boolean): readonly Statement[] => countUp(at, get(samples), get(end), 16, [
      set(value, load('v128.load', get(at))), ...sectionsOnce(group, passage, withHalf), store('v128.store', get(at), 0, get(value)),
    ]);
    code.body.push(rounds(count, size, [
      set(past, load('v128.load', get(states))),
      ...group.flatMap(({ coefficient, output }, k) => [
        set(coefficient, load('v128.load', get(coefficients), 16 * k)), set(output, load('v128.load', get(states), 32 * k + 16)),
      ]),
      when(operation('i32.and', operation('i32.eq', get(count), i32(size)), operation('i32.ge_s', get(half), i32(0))), overBlock(true), overBlock(false)),
      ...group.flatMap(({ output }, k) => [
        store('v128.store', get(states), 32 * k, k === 0 ? get(past) : get(group[k - 1]!.output)), store('v128.store', get(states), 32 * k + 16, get(output)),
      ]),
      advance(coefficients, 16 * size), advance(states, 32 * size),
    ]));
  }
  return code;
}

function delay(): FunctionCode {
  const [line, samples, frames] = [local('i32', 'line'), local('i32', 'samples'), local('i32', 'frames')];
  const [a, x, input, output, unmasked] = [local('f64', 'a'), local('f64', 'x'), local('f64', 'input'), local('f64', 'output'), local('f64', 'unmasked')];
  const code = defineFunction('delay', [line, samples, frames]);
  code.body.push(
    set(a, load('f64.load', get(line))), set(input, load('f64.load', get(line), 8)), set(output, load('f64.load', get(line), 16)),
    rounds(frames, 1, [
      set(x, load('f64.load', get(samples))),
      set(unmasked, scalarLane.add(scalarLane.mul(get(a), scalarLane.sub(get(x), get(output))), get(input))),
      set(input, get(x)),
      set(output, masked(scalarLane, unmasked)),
      store('f64.store', get(samples), 0, get(output)),
      advance(samples, 8),
    ]),
    store('f64.store', get(line), 8, get(input)), store('f64.store', get(line), 16, get(output)),
  );
  return code;
}
