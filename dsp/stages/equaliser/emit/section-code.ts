/**
 * The equaliser's work as a module, operation by operation as `section-loops.ts`. Left and right stand in the two lanes (one channel: the same in both); a section goes over
 * the whole block with its numbers and memories in locals.
 */
import {
  again, defineFunction, encodeModule, f64x2, get, giveBack, i32, label, laneOperation, leave, load, local, operation, repeat, set, store, vectorLanes, when,
} from '../../../webassembly/index.ts';
import type { Expression, FunctionCode, Local, Statement } from '../../../webassembly/index.ts';
import { at } from '../section.ts';
import { peakAt, silence, soundVolts } from '../section-work.ts';

export const sectionModuleKey = 'equaliser sections';

/** The bytes of the module; the same each time. */
export function emitSections(): Uint8Array<ArrayBuffer> {
  const functions = [soundCode(), sectionCode(), finishCode()];
  return encodeModule({ functions, exports: Object.fromEntries(functions.map((code) => [code.name, code])) });
}

const { add, sub, mul, abs, lt, gt, le, all, choose, constant } = vectorLanes;

const masked = (value: Local): Expression => operation('v128.andnot', get(value), lt(abs(get(value)), constant(silence)));
const pair = (left: Expression, right: Expression): Expression => laneOperation('f64x2.replace_lane', 1, operation('f64x2.splat', left), right);
const lane = (value: Expression, index: number): Expression => laneOperation('f64x2.extract_lane', index, value);

/** What every function works on. */
interface Block {
  readonly left: Local;
  readonly right: Local;
  readonly frames: Local;
}

const blockLocals = (): Block => ({ left: local('i32', 'left'), right: local('i32', 'right'), frames: local('i32', 'frames') });
const sampleOf = ({ left, right }: Block): Expression => pair(load('f64.load', get(left)), load('f64.load', get(right)));

function storeSample({ left, right }: Block, value: Expression): readonly Statement[] {
  return [store('v128.store64_lane', get(left), 0, value, 0), store('v128.store64_lane', get(right), 0, value, 1)];
}

/** `body` for every frame of the block. */
function everyFrame({ left, right, frames }: Block, body: readonly Statement[]): Statement {
  const samples = label('samples');
  return repeat(samples, [
    when(operation('i32.le_s', get(frames), i32(0)), [leave(samples)]),
    ...body,
    ...[left, right].map((pointer) => set(pointer, operation('i32.add', get(pointer), i32(8)))),
    set(frames, operation('i32.sub', get(frames), i32(1))),
    again(samples),
  ]);
}

/** left, right, frames → 1 where all samples are sound, else 0. */
function soundCode(): FunctionCode {
  const block = blockLocals();
  const code = defineFunction('sound', [block.left, block.right, block.frames], 'i32');
  code.body.push(
    everyFrame(block, [when(operation('i32.eqz', all(le(abs(sampleOf(block)), constant(soundVolts)))), [giveBack(i32(0))])]),
    giveBack(i32(1)),
  );
  return code;
}

/** left, right, frames, memories of both, the section's numbers. */
function sectionCode(): FunctionCode {
  const block = blockLocals();
  const [memoryLeft, memoryRight, numbers] = [local('i32', 'memoryLeft'), local('i32', 'memoryRight'), local('i32', 'numbers')];
  const code = defineFunction('section', [block.left, block.right, block.frames, memoryLeft, memoryRight, numbers]);
  const numbered = Object.entries(at).map(([name, place]) => ({ number: local('v128', name), place }));
  const [keep, turn, rise, direct, low, band1, band2] = numbered.map(({ number }) => number) as [Local, Local, Local, Local, Local, Local, Local];
  const [x, d, y] = [local('v128', 'x'), local('v128', 'd'), local('v128', 'y')];
  const [first, second, nextFirst, nextSecond] = [local('v128', 'first'), local('v128', 'second'), local('v128', 'nextFirst'), local('v128', 'nextSecond')];
  const memories = [[first, 0], [second, 8]] as const;
  code.body.push(
    ...numbered.map(({ number, place }) => set(number, load('v128.load64_splat', get(numbers), 8 * place))),
    ...memories.map(([memory, place]) => set(memory, pair(load('f64.load', get(memoryLeft), place), load('f64.load', get(memoryRight), place)))),
    everyFrame(block, [
      set(x, sampleOf(block)),
      set(d, sub(get(x), get(second))),
      set(nextFirst, add(mul(get(keep), get(first)), mul(get(turn), get(d)))),
      set(nextSecond, add(get(second), add(mul(get(turn), get(first)), mul(get(rise), get(d))))),
      set(y, add(mul(get(direct), get(x)), add(mul(get(low), get(second)), add(mul(get(band1), get(first)), mul(get(band2), get(d)))))),
      set(first, masked(nextFirst)),
      set(second, masked(nextSecond)),
      ...storeSample(block, get(y)),
    ]),
    ...memories.flatMap(([memory, place]) => [
      store('f64.store', get(memoryLeft), place, lane(get(memory), 0)), store('f64.store', get(memoryRight), place, lane(get(memory), 1)),
    ]),
  );
  return code;
}

/** left, right, frames, counts, gain. */
function finishCode(): FunctionCode {
  const block = blockLocals();
  const [counts, gain] = [local('i32', 'counts'), local('f64', 'gain')];
  const code = defineFunction('finish', [block.left, block.right, block.frames, counts, gain]);
  const [y, peak, factor] = [local('v128', 'y'), local('v128', 'peak'), local('v128', 'factor')];
  code.body.push(
    set(peak, f64x2(0)),
    set(factor, operation('f64x2.splat', get(gain))),
    everyFrame(block, [
      set(y, add(mul(sampleOf(block), get(factor)), constant(0))),
      set(peak, choose(gt(abs(get(y)), get(peak)), abs(get(y)), get(peak))),
      ...storeSample(block, get(y)),
    ]),
    store('v128.store', get(counts), 8 * peakAt, get(peak)),
  );
  return code;
}
