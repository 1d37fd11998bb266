/** The path's block work as a module, operation by operation as `block-loops.ts`. Gains take neighbouring frames in the two lanes; fades, which seldom run, one at a time. */
import {
  again, copyMemory, defineFunction, encodeModule, f64, get, i32, label, leave, load, local, operation, repeat, scalarLane, select, set, store, vectorLanes, when, giveBack,
} from '../../webassembly/index.ts';
import type { Expression, FunctionCode, Lanes, Local, Statement } from '../../webassembly/index.ts';
import { mixAt } from '../block-work.ts';

export const blockModuleKey = 'path blocks';

/** The bytes of the module; the same each time. */
export function emitBlocks(): Uint8Array<ArrayBuffer> {
  const functions = [
    copy(),
    mapped('negate', false, (lanes, sample) => lanes.sub(lanes.constant(0), sample)),
    mapped('multiply', true, (lanes, sample, ratio) => lanes.mul(sample, ratio)),
    mapped('divide', true, (lanes, sample, ratio) => lanes.div(sample, ratio)),
    crossfade(), mix(),
  ];
  return encodeModule({ functions, exports: Object.fromEntries(functions.map((code) => [code.name, code])) });
}

const { add, sub, mul } = scalarLane;
const advance = (pointer: Local, by: number): Statement => set(pointer, operation('i32.add', get(pointer), i32(by)));

function rounds(remaining: Local, step: number, body: readonly Statement[]): Statement {
  const name = label(`${remaining.name} by ${step}`);
  return repeat(name, [when(operation('i32.lt_s', get(remaining), i32(step)), [leave(name)]), ...body, advance(remaining, -step), again(name)]);
}

function copy(): FunctionCode {
  const [from, to, frames] = [local('i32', 'from'), local('i32', 'to'), local('i32', 'frames')];
  const code = defineFunction('copy', [from, to, frames]);
  code.body.push(copyMemory(get(to), get(from), operation('i32.shl', get(frames), i32(3))));
  return code;
}

/** A function of each sample alone and, where it takes one, of a ratio. */
function mapped(name: string, withRatio: boolean, of: (lanes: Lanes, sample: Expression, ratio: Expression) => Expression): FunctionCode {
  const [from, to, frames, ratioAt] = [local('i32', 'from'), local('i32', 'to'), local('i32', 'frames'), local('i32', 'ratioAt')];
  const code = defineFunction(name, withRatio ? [from, to, frames, ratioAt] : [from, to, frames]);
  for (const lanes of [vectorLanes, scalarLane]) {
    const ratio = local(lanes.type, 'ratio');
    if (withRatio) code.body.push(set(ratio, lanes.loadShared(get(ratioAt), 0)));
    code.body.push(rounds(frames, lanes.count, [
      lanes.store(get(to), 0, of(lanes, lanes.load(get(from), 0), get(ratio))), advance(from, lanes.bytes), advance(to, lanes.bytes),
    ]));
  }
  return code;
}

/** The weight at a place that is held between 0 and `last`, into `weight`. */
function weightAt(weight: Local, weights: Local, place: Local, last: Local): Statement[] {
  return [
    set(weight, load('f64.load', operation('i32.add', get(weights), operation('i32.shl', held(place, last), i32(3))))),
  ];
}

function held(place: Local, last: Local): Expression {
  const notPast = select(operation('i32.gt_s', get(place), get(last)), get(last), get(place));
  return select(operation('i32.lt_s', get(place), i32(0)), i32(0), notPast);
}

function crossfade(): FunctionCode {
  const [into, other, frames] = [local('i32', 'into'), local('i32', 'other'), local('i32', 'frames')];
  const [weights, last, place, step] = [local('i32', 'weights'), local('i32', 'last'), local('i32', 'place'), local('i32', 'step')];
  const weight = local('f64', 'weight');
  const code = defineFunction('crossfade', [into, other, frames, weights, last, place, step]);
  const mixed = add(add(mul(get(weight), load('f64.load', get(into))), mul(sub(f64(1), get(weight)), load('f64.load', get(other)))), f64(0));
  code.body.push(
    when(operation('i32.and', operation('i32.ge_s', get(place), get(last)), operation('i32.ge_s', get(step), i32(0))), [giveBack()]),
    rounds(frames, 1, [
      set(place, operation('i32.add', get(place), get(step))),
      ...weightAt(weight, weights, place, last),
      when(operation('f64.eq', get(weight), f64(0)), [
        store('f64.store', get(into), 0, load('f64.load', get(other))),
      ], [
        when(operation('f64.ne', get(weight), f64(1)), [store('f64.store', get(into), 0, mixed)]),
      ]),
      advance(into, 8), advance(other, 8),
    ]),
  );
  return code;
}

function mix(): FunctionCode {
  const [wet, dry, frames, weights, last] = [local('i32', 'wet'), local('i32', 'dry'), local('i32', 'frames'), local('i32', 'weights'), local('i32', 'last')];
  const [place, step, gainPlace] = [local('i32', 'place'), local('i32', 'step'), local('i32', 'gainPlace')];
  const [numbers, wholePath] = [local('i32', 'numbers'), local('i32', 'wholePath')];
  const code = defineFunction('mix', [wet, dry, frames, weights, last, place, step, gainPlace, numbers, wholePath]);
  const [weight, gainWeight, inGain, outGain] = [local('f64', 'weight'), local('f64', 'gainWeight'), local('f64', 'inGain'), local('f64', 'outGain')];
  const number = (at: number): Expression => load('f64.load', get(numbers), 8 * at);
  const wetSample = load('f64.load', get(wet));
  const turnedDry = mul(number(mixAt.polarity), load('f64.load', get(dry)));
  const outWeight = sub(f64(1), get(weight));
  const put = (value: Expression): Statement => store('f64.store', get(wet), 0, value);
  const movedTo = (gain: Local, before: number): Statement =>
    set(gain, add(mul(get(gainWeight), get(gain)), mul(sub(f64(1), get(gainWeight)), number(before))));
  code.body.push(rounds(frames, 1, [
    set(place, operation('i32.add', get(place), get(step))),
    ...weightAt(weight, weights, place, last),
    set(inGain, number(mixAt.inGain)),
    set(outGain, number(mixAt.outGain)),
    advance(gainPlace, 1),
    when(operation('i32.lt_s', get(gainPlace), get(last)), [
      ...weightAt(gainWeight, weights, gainPlace, last),
      movedTo(inGain, mixAt.inGainBefore), movedTo(outGain, mixAt.outGainBefore),
    ]),
    when(operation('f64.eq', get(weight), f64(1)), [put(mul(wetSample, get(inGain)))], [
      when(operation('f64.eq', get(weight), f64(0)), [
        when(get(wholePath), [put(mul(turnedDry, get(outGain)))], [put(mul(wetSample, get(outGain)))]),
      ], [
        when(get(wholePath), [
          put(add(mul(mul(get(weight), get(inGain)), wetSample), mul(mul(outWeight, get(outGain)), turnedDry))),
        ], [
          put(mul(wetSample, add(mul(get(weight), get(inGain)), mul(outWeight, get(outGain))))),
        ]),
      ]),
    ]),
    advance(wet, 8), advance(dry, 8),
  ]));
  return code;
}
