/**
 * The work on blocks as a module, operation by operation as `sub-steps.ts`. Where a frame's result needs no frame before it, neighbouring frames stand in the two lanes.
 */
import {
  again, defineFunction, encodeModule, f64, f64x2, get, giveBack, i32, label, laneOperation, leave, load, local, operation, repeat, scalarLane, set, store, vectorLanes, when,
} from '../../webassembly/index.ts';
import type { Expression, FunctionCode, Lanes, Local, Statement } from '../../webassembly/index.ts';
import { largestInput } from '../solver.ts';
import { cubicWeights } from '../sub-steps.ts';

export const blockModuleKey = 'circuit blocks';

/** The bytes of the module; the same each time. Pointers and counts are i32, in bytes and frames. */
export function emitBlocks(): Uint8Array<ArrayBuffer> {
  const functions = [subInputs(2), subInputs(4), combine(), scaleInput(), cleanInput(), finishOutput()];
  return encodeModule({ functions, exports: Object.fromEntries(functions.map((code) => [code.name, code])) });
}

const advance = (pointer: Local, by: Expression): Statement => set(pointer, operation('i32.add', get(pointer), by));
const strideOf = (steps: Local): Expression => operation('i32.shl', get(steps), i32(3));

/** `body` while at least `step` of `remaining` are left, each round taking them. */
function rounds(remaining: Local, step: number, body: readonly Statement[]): Statement {
  const name = label(`${remaining.name} by ${step}`);
  return repeat(name, [
    when(operation('i32.lt_s', get(remaining), i32(step)), [leave(name)]),
    ...body,
    advance(remaining, i32(-step)),
    again(name),
  ]);
}

/** (from, history, frames, to): the cubic rows of `cubicWeights`, then the input itself. */
function subInputs(subSteps: 2 | 4): FunctionCode {
  const [from, history, frames, to] = [local('i32', 'from'), local('i32', 'history'), local('i32', 'frames'), local('i32', 'to')];
  const inputs = [0, 1, 2, 3].map((age) => local('f64', `u${age}`)) as [Local, Local, Local, Local];
  const [u0, u1, u2, u3] = inputs;
  const { scale, rows } = cubicWeights[subSteps];
  const cubic = (weights: readonly number[]): Expression => {
    const terms = weights.map((weight, age) => scalarLane.mul(f64(weight), get(inputs[age]!)));
    return scalarLane.mul(terms.reduce((sum, term) => scalarLane.add(sum, term)), f64(scale));
  };
  const code = defineFunction(`subInputs${subSteps}`, [from, history, frames, to]);
  code.body.push(
    ...[u1, u2, u3].map((past, k) => set(past, load('f64.load', get(history), 8 * k))),
    rounds(frames, 1, [
      set(u0, load('f64.load', get(from))),
      ...rows.map((weights, k) => store('f64.store', get(to), 8 * k, cubic(weights))),
      store('f64.store', get(to), 8 * (subSteps - 1), get(u0)),
      set(u3, get(u2)), set(u2, get(u1)), set(u1, get(u0)),
      advance(from, i32(8)), advance(to, i32(8 * subSteps)),
    ]),
  );
  return code;
}

/** (coarse, coarseSteps, fine, fineSteps, frames, to). */
function combine(): FunctionCode {
  const [coarse, coarseSteps, fine, fineSteps] = [local('i32', 'coarse'), local('i32', 'coarseSteps'), local('i32', 'fine'), local('i32', 'fineSteps')];
  const [frames, to] = [local('i32', 'frames'), local('i32', 'to')];
  const [coarseStride, fineStride] = [local('i32', 'coarseStride'), local('i32', 'fineStride')];
  const code = defineFunction('combine', [coarse, coarseSteps, fine, fineSteps, frames, to]);
  const { add, sub, mul, div } = scalarLane;
  code.body.push(
    set(coarseStride, strideOf(coarseSteps)), set(fineStride, strideOf(fineSteps)),
    // To the last of the first sample's outputs.
    advance(coarse, operation('i32.sub', get(coarseStride), i32(8))), advance(fine, operation('i32.sub', get(fineStride), i32(8))),
    rounds(frames, 1, [
      store('f64.store', get(to), 0, add(div(sub(mul(f64(4), load('f64.load', get(fine))), load('f64.load', get(coarse))), f64(3)), f64(0))),
      advance(coarse, get(coarseStride)), advance(fine, get(fineStride)), advance(to, i32(8)),
    ]),
  );
  return code;
}

/** (samples, frames, gain) → how many are not sound; × gain in place. */
const scaleInput = (): FunctionCode => checkInput('scaleInput', (lanes, samples, _, volts) => [lanes.store(get(samples), 0, get(volts))]);

/** The same, with 0 for what is not sound. */
const cleanInput = (): FunctionCode => checkInput('cleanInput', (lanes, samples, sound, volts) => [
  lanes.store(get(samples), 0, lanes.choose(sound, get(volts), lanes.constant(0))),
]);

function checkInput(name: string, change: (lanes: Lanes, samples: Local, sound: Expression, volts: Local) => Statement[]): FunctionCode {
  const [samples, frames, gain, unsound] = [local('i32', 'samples'), local('i32', 'frames'), local('f64', 'gain'), local('i32', 'unsound')];
  const code = defineFunction(name, [samples, frames, gain], 'i32');
  const step = (lanes: Lanes, gains: Expression, volts: Local): Statement[] => {
    const sound = lanes.le(lanes.abs(get(volts)), lanes.constant(largestInput));
    return [
      set(volts, lanes.mul(lanes.load(get(samples), 0), gains)),
      // One if not all are, one more if none of two is.
      when(operation('i32.eqz', lanes.all(sound)), [
        advance(unsound, i32(1)), ...(lanes.count === 2 ? [advance(unsound, operation('i32.eqz', lanes.any(sound)))] : []),
      ]),
      ...change(lanes, samples, sound, volts),
      advance(samples, i32(lanes.bytes)),
    ];
  };
  const [pair, single] = [local('v128', 'pair'), local('f64', 'single')];
  code.body.push(
    rounds(frames, 2, step(vectorLanes, operation('f64x2.splat', get(gain)), pair)),
    rounds(frames, 1, step(scalarLane, get(gain), single)),
    giveBack(get(unsound)),
  );
  return code;
}

/** (samples, frames, rest, gain, peak) → the larger of peak and the largest magnitude. */
function finishOutput(): FunctionCode {
  const [samples, frames, rest, gain, peak] = [local('i32', 'samples'), local('i32', 'frames'), local('f64', 'rest'), local('f64', 'gain'), local('f64', 'peak')];
  const code = defineFunction('finishOutput', [samples, frames, rest, gain, peak], 'f64');
  const larger = (lanes: Lanes, size: Expression, than: Local): Statement => set(than, lanes.choose(lanes.gt(size, get(than)), size, get(than)));
  const step = (lanes: Lanes, ofRest: Expression, ofGain: Expression, volts: Local, peaks: Local): Statement[] => [
    set(volts, lanes.add(lanes.mul(lanes.sub(lanes.load(get(samples), 0), ofRest), ofGain), lanes.constant(0))),
    lanes.store(get(samples), 0, get(volts)),
    larger(lanes, lanes.abs(get(volts)), peaks),
    advance(samples, i32(lanes.bytes)),
  ];
  const [pair, single, peaks, otherPeaks] = [local('v128', 'pair'), local('f64', 'single'), local('v128', 'peaks'), local('v128', 'otherPeaks')];
  const splat = (value: Local): Expression => operation('f64x2.splat', get(value));
  const pairOf = (held: Local): Statement[] => step(vectorLanes, splat(rest), splat(gain), pair, held);
  code.body.push(
    set(peaks, f64x2(0)), set(otherPeaks, f64x2(0)),
    // Two runs of peaks in turn: each waits for the one before it.
    rounds(frames, 4, [...pairOf(peaks), ...pairOf(otherPeaks)]),
    rounds(frames, 2, pairOf(peaks)),
    rounds(frames, 1, step(scalarLane, get(rest), get(gain), single, peak)),
    ...[peaks, otherPeaks].flatMap((held) => [0, 1].map((lane) => larger(scalarLane, laneOperation('f64x2.extract_lane', lane, get(held)), peak))),
    giveBack(get(peak)),
  );
  return code;
}
