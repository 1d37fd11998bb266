/**
 * The shaping stage's work as a module, operation by operation as `shaping-loops.ts` and `branch.ts`. Left and right stand in the two lanes (one channel: the same in both), but for
 * the all-pass pair of the held law, whose two chains do.
 */
import {
  again, countUp, defineFunction, encodeModule, f64x2, get, i32, label, laneOperation, leave, load, local, operation, repeat, set, store, tanhCode, vectorLanes, when,
} from '../../../webassembly/index.ts';
import type { Expression, FunctionCode, Local, Statement } from '../../../webassembly/index.ts';
import { silence } from '../branch.ts';
import { at } from '../program.ts';
import { sectionCount } from '../quadrature.ts';
import { blockingAt, nonFiniteAt, peakAt, sectionsAt } from '../shaping-work.ts';

export const shapingModuleKey = 'harmonic shaping';

/** The bytes of the module; the same each time. */
export function emitShaping(): Uint8Array<ArrayBuffer> {
  const functions = [new ShapeWriter('shapePolynomial', false).code, new ShapeWriter('shapeHeld', true).code];
  return encodeModule({ functions, exports: Object.fromEntries(functions.map((code) => [code.name, code])) });
}

const { add, sub, mul, div, abs, sqrt, lt, gt, ne, or, choose, any, constant } = vectorLanes;

const masked = (value: Local): Expression => operation('v128.andnot', get(value), lt(abs(get(value)), constant(silence)));
const both = (left: Expression, right: Expression): Expression => laneOperation('f64x2.replace_lane', 1, operation('f64x2.splat', left), right);
const lane = (value: Expression, index: number): Expression => laneOperation('f64x2.extract_lane', index, value);

/** One of the two functions: left, right, frames, memory of both, parameters, counts, silent. */
class ShapeWriter {
  readonly code: FunctionCode;
  readonly #held: boolean;
  readonly #left = local('i32', 'left');
  readonly #right = local('i32', 'right');
  readonly #frames = local('i32', 'frames');
  readonly #memoryLeft = local('i32', 'memoryLeft');
  readonly #memoryRight = local('i32', 'memoryRight');
  readonly #parameters = local('i32', 'parameters');
  readonly #counts = local('i32', 'counts');
  readonly #silent = local('i32', 'silent');
  // Signals of one sample.
  readonly #x = local('v128', 'x');
  readonly #limited = local('v128', 'limited');
  /** Of the held law: the squared magnitude of the analytic signal. */
  readonly #magnitude = local('v128', 'magnitude');
  readonly #even = local('v128', 'even');
  readonly #odd = local('v128', 'odd');
  readonly #y = local('v128', 'y');
  readonly #bad = local('v128', 'bad');
  readonly #unmasked = local('v128', 'unmasked');
  // Memory that stays in locals over the block.
  readonly #first = local('v128', 'first');
  readonly #second = local('v128', 'second');
  readonly #slow = local('v128', 'slow');
  readonly #peak = local('v128', 'peak');
  readonly #nonFinite = local('v128', 'nonFinite');
  readonly #setUp: Statement[] = [];

  constructor(name: string, held: boolean) {
    this.#held = held;
    this.code = defineFunction(name, [
      this.#left, this.#right, this.#frames, this.#memoryLeft, this.#memoryRight, this.#parameters, this.#counts, this.#silent,
    ]);
    const sample = this.#sample();
    const states = [[this.#first, 0], [this.#second, 1], [this.#slow, blockingAt]] as const;
    const block = label('samples');
    this.code.body.push(
      ...states.map(([state, k]) => set(state, both(load('f64.load', get(this.#memoryLeft), 8 * k), load('f64.load', get(this.#memoryRight), 8 * k)))),
      set(this.#peak, f64x2(0)),
      set(this.#nonFinite, f64x2(0)),
      ...this.#setUp,
      repeat(block, [
        when(operation('i32.le_s', get(this.#frames), i32(0)), [leave(block)]),
        ...sample,
        ...[this.#left, this.#right].map((pointer) => set(pointer, operation('i32.add', get(pointer), i32(8)))),
        set(this.#frames, operation('i32.sub', get(this.#frames), i32(1))),
        again(block),
      ]),
      ...states.flatMap(([state, k]) => [
        store('f64.store', get(this.#memoryLeft), 8 * k, lane(get(state), 0)), store('f64.store', get(this.#memoryRight), 8 * k, lane(get(state), 1)),
      ]),
      store('v128.store', get(this.#counts), 8 * peakAt, get(this.#peak)),
      store('v128.store', get(this.#counts), 8 * nonFiniteAt, get(this.#nonFinite)),
    );
  }

  #parameter(k: number): Expression {
    return load('v128.load64_splat', get(this.#parameters), 8 * k);
  }

  /** A value that is the same for all samples. */
  #fixed(name: string, value: Expression): Expression {
    const kept = local('v128', name);
    this.#setUp.push(set(kept, value));
    return get(kept);
  }

  #sample(): Statement[] {
    const makeUp = this.#fixed('makeUp', this.#parameter(at.makeUpRatio));
    return [
      set(this.#x, both(load('f64.load', get(this.#left)), load('f64.load', get(this.#right)))),
      ...this.#bandLimit(),
      ...(this.#held ? this.#quadrature() : []),
      set(this.#y, get(this.#x)),
      when(operation('i32.eqz', get(this.#silent)), [...(this.#held ? this.#heldParts() : this.#polynomialParts()), ...this.#branchOut()]),
      set(this.#y, add(mul(get(this.#y), makeUp), constant(0))),
      set(this.#bad, ne(sub(get(this.#y), get(this.#y)), constant(0))),
      when(any(get(this.#bad)), this.#startAfresh()),
      set(this.#peak, choose(gt(abs(get(this.#y)), get(this.#peak)), abs(get(this.#y)), get(this.#peak))),
      store('v128.store64_lane', get(this.#left), 0, get(this.#y), 0),
      store('v128.store64_lane', get(this.#right), 0, get(this.#y), 1),
    ];
  }

  /** Memory and output of a lane that is not finite. */
  #startAfresh(): Statement[] {
    const [k, kept] = [local('i32', 'k'), local('v128', 'kept')];
    const cleared = (state: Local): Statement => set(state, operation('v128.andnot', get(state), get(this.#bad)));
    const sections = [this.#memoryLeft, this.#memoryRight].map((memory, index): Statement => when(
      operation('i32.ne', operation('i32.and', operation('i64x2.bitmask', get(this.#bad)), i32(1 << index)), i32(0)),
      [...countUp(k, operation('i32.add', get(memory), i32(8 * sectionsAt)), operation('i32.add', get(memory), i32(8 * (sectionsAt + sectionCount))), 16, [
        set(kept, f64x2(0)), store('v128.store', get(k), 0, get(kept)),
      ])],
    ));
    return [
      ...[this.#first, this.#second, this.#slow, this.#y].map(cleared),
      ...(this.#held ? sections : []),
      set(this.#nonFinite, add(get(this.#nonFinite), operation('v128.and', get(this.#bad), f64x2(1)))),
    ];
  }

  #bandLimit(): Statement[] {
    const g = this.#fixed('g', this.#parameter(at.bandLimit));
    const share = this.#fixed('share', this.#parameter(at.bandLimitShare));
    const v1 = local('v128', 'v1');
    return [
      set(v1, mul(add(get(this.#first), mul(g, sub(get(this.#x), get(this.#second)))), share)),
      set(this.#limited, add(get(this.#second), mul(g, get(v1)))),
      set(this.#unmasked, sub(mul(constant(2), get(v1)), get(this.#first))),
      set(this.#first, masked(this.#unmasked)),
      set(this.#unmasked, sub(mul(constant(2), get(this.#limited)), get(this.#second))),
      set(this.#second, masked(this.#unmasked)),
    ];
  }

  /** Both chains of each channel, a section of either at once; one channel does not run twice. */
  #quadrature(): Statement[] {
    const squares = local('v128', 'squares');
    const chain = (memory: Local, index: number): Statement[] => {
      const [value, coefficient] = [local('v128', 'value'), local('v128', 'coefficient')];
      const statements = [set(value, operation('f64x2.splat', lane(get(this.#limited), index)))];
      for (let k = 0; k < sectionCount; k += 2) {
        const [place, out] = [8 * (sectionsAt + k), local('v128', 'out')];
        statements.push(
          set(coefficient, load('v128.load', get(this.#parameters), 8 * (at.quadrature + k))),
          set(out, add(mul(get(coefficient), get(value)), load('v128.load', get(memory), place))),
          set(this.#unmasked, sub(mul(get(coefficient), get(out)), get(value))),
          store('v128.store', get(memory), place, masked(this.#unmasked)),
          set(value, get(out)),
        );
      }
      statements.push(set(squares, mul(get(value), get(value))));
      return statements;
    };
    const sum = operation('f64.add', lane(get(squares), 0), lane(get(squares), 1));
    return [
      ...chain(this.#memoryLeft, 0),
      set(this.#magnitude, operation('f64x2.splat', sum)),
      when(operation('i32.ne', get(this.#memoryRight), get(this.#memoryLeft)), [
        ...chain(this.#memoryRight, 1),
        set(this.#magnitude, laneOperation('f64x2.replace_lane', 1, get(this.#magnitude), sum)),
      ]),
    ];
  }

  #polynomialParts(): Statement[] {
    const reference = this.#fixed('reference', this.#parameter(at.referencePeakVolts));
    const twice = this.#fixed('twice', mul(constant(2), this.#parameter(at.second)));
    const fourfold = this.#fixed('fourfold', mul(constant(4), this.#parameter(at.third)));
    const ceiling = this.#fixed('ceiling', this.#parameter(at.ceilingVolts));
    const floor = this.#fixed('floor', sub(constant(-0), ceiling));
    const knee = this.#fixed('knee', this.#parameter(at.kneeVolts));
    const [s, a, over, under, past] = [local('v128', 's'), local('v128', 'a'), local('v128', 'over'), local('v128', 'under'), local('v128', 'past')];
    const x = get(this.#limited);
    // x + c is x − (−c) to the bit, and −c + w t as well.
    const curve = tanhCode(vectorLanes, div(sub(x, get(past)), knee));
    return [
      set(s, x),
      set(over, gt(x, ceiling)),
      set(under, lt(x, floor)),
      when(any(or(get(over), get(under))), [
        set(past, choose(get(over), ceiling, floor)),
        ...curve.statements,
        set(s, choose(or(get(over), get(under)), add(get(past), mul(knee, curve.value)), x)),
      ]),
      set(a, div(get(s), reference)),
      set(this.#even, mul(mul(twice, get(a)), get(s))),
      set(this.#odd, mul(mul(mul(fourfold, get(a)), get(a)), get(s))),
    ];
  }

  #heldParts(): Statement[] {
    const second = this.#fixed('second', this.#parameter(at.second));
    const third = this.#fixed('third', this.#parameter(at.third));
    const ceiling = this.#fixed('ceiling', this.#parameter(at.ceilingVolts));
    const knee = this.#fixed('knee', this.#parameter(at.kneeVolts));
    const floorSquare = this.#fixed('floorSquare', mul(this.#parameter(at.floorVolts), this.#parameter(at.floorVolts)));
    const names = ['square', 'regular', 'envelope', 'share', 'loud'] as const;
    const [square, regular, envelope, share, loud] = names.map((name) => local('v128', name)) as [Local, Local, Local, Local, Local];
    const x = get(this.#limited);
    const curve = tanhCode(vectorLanes, div(sub(get(envelope), ceiling), knee));
    return [
      set(square, mul(x, x)),
      set(square, choose(gt(get(square), get(this.#magnitude)), get(square), get(this.#magnitude))),
      set(regular, add(get(square), floorSquare)),
      set(envelope, sqrt(get(square))),
      set(share, constant(1)),
      set(loud, gt(get(envelope), ceiling)),
      when(any(get(loud)), [
        ...curve.statements,
        set(share, choose(get(loud), div(add(ceiling, mul(knee, curve.value)), get(envelope)), get(share))),
      ]),
      set(this.#even, div(mul(mul(get(share), second), sub(mul(mul(constant(2), x), x), get(square))), sqrt(get(regular)))),
      set(this.#odd, div(mul(mul(mul(get(share), third), x), sub(mul(mul(constant(4), x), x), mul(constant(3), get(square)))), get(regular))),
    ];
  }

  /** y = x + (even part, its DC blocked, + odd part). */
  #branchOut(): Statement[] {
    const pole = this.#fixed('pole', this.#parameter(at.blocking));
    const share = this.#fixed('share of the input', div(sub(constant(1), pole), constant(2)));
    const [entering, low] = [local('v128', 'entering'), local('v128', 'low')];
    return [
      set(entering, mul(share, get(this.#even))),
      set(low, add(get(entering), get(this.#slow))),
      set(this.#unmasked, add(get(entering), mul(pole, get(low)))),
      set(this.#slow, masked(this.#unmasked)),
      set(this.#y, add(get(this.#x), add(sub(get(this.#even), get(low)), get(this.#odd)))),
    ];
  }
}

