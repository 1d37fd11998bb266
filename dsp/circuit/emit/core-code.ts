/**
 * Cores with memory as code (core-law.ts): the law for one lane or two on the branch that the flux is on, and what turns back or closes a loop as functions for one lane, since a signal does that a few
 * times a cycle.
 */
import {
  again, callOnly, countUp, defineFunction, f64, get, giveBack, i32, label, leave, load, local, operation, repeat, scalarLane, select, set, store, when,
} from '../../webassembly/index.ts';
import type { Expression, FunctionCode, Local, Statement } from '../../webassembly/index.ts';
import { coreHead, coreHeadLength, coreParameter, coreReversals, coreStackLength } from '../core-law.ts';
import type { DeviceShape, KernelStructure } from './kernel-structure.ts';
import type { LaneCode } from './lane-code.ts';
import { coreCell, coreCellLength } from './memory-layout.ts';
import type { MemoryLayout } from './memory-layout.ts';

/** All take the addresses of one lane's head, its stack and its cells, and of the core's parameters. */
export interface CoreFunctions {
  /** The branch of the flux in the cells, into the cells. */
  readonly findBranch: FunctionCode;
  /** The memory moves on to the flux in the cells. */
  readonly move: FunctionCode;
  readonly all: readonly FunctionCode[];
}

const { add, sub, mul, div, abs, neg, lt, gt, ge, sqrt } = scalarLane;

export function coreFunctions({ cores }: KernelStructure, layout: MemoryLayout): CoreFunctions | null {
  if (cores === 0) return null;
  const code = new CoreMemory(layout.laneBytes);
  const thinOut = thinOutFunction(code);
  const findBranch = findBranchFunction(code);
  const move = moveFunction(code, thinOut);
  return { findBranch, move, all: [thinOut, findBranch, move] };
}

/** Addresses of one lane's memory of one core. Reversals are numbered by i32. */
class CoreMemory {
  readonly head = local('i32', 'head');
  readonly stack = local('i32', 'stack');
  readonly cells = local('i32', 'cells');
  readonly parameters = local('i32', 'parameters');
  readonly #laneBytes: number;

  constructor(laneBytes: number) {
    this.#laneBytes = laneBytes;
  }

  get all(): readonly Local[] {
    return [this.head, this.stack, this.cells, this.parameters];
  }
  get operands(): readonly Expression[] {
    return this.all.map((address) => get(address));
  }
  of(name: keyof typeof coreHead): Expression {
    return load('f64.load', get(this.head), this.#laneBytes * coreHead[name]);
  }
  setOf(name: keyof typeof coreHead, value: Expression): Statement {
    return store('f64.store', get(this.head), this.#laneBytes * coreHead[name], value);
  }
  parameter(name: keyof typeof coreParameter): Expression {
    return load('f64.load', get(this.parameters), this.#laneBytes * coreParameter[name]);
  }
  cell(name: keyof typeof coreCell): Expression {
    return load('f64.load', get(this.cells), this.#laneBytes * coreCell[name]);
  }
  setCell(name: keyof typeof coreCell, value: Expression): Statement {
    return store('f64.store', get(this.cells), this.#laneBytes * coreCell[name], value);
  }
  count(): Expression {
    return operation('i32.trunc_f64_s', this.of('count'));
  }
  /** Flux of the reversal `later` after the one numbered `number`, from 1. */
  flux(number: Expression, later = 0): Expression {
    return load('f64.load', this.#slot(number), this.#offset(later));
  }
  amperes(number: Expression, later = 0): Expression {
    return load('f64.load', this.#slot(number), this.#offset(later) + this.#laneBytes);
  }
  setFlux(number: Expression, value: Expression): Statement {
    return store('f64.store', this.#slot(number), this.#offset(0), value);
  }
  setAmperes(number: Expression, value: Expression): Statement {
    return store('f64.store', this.#slot(number), this.#offset(0) + this.#laneBytes, value);
  }
  /** `alongBranch`. */
  along(bend: Expression, beyond: Expression): Expression {
    const root = sqrt(add(this.parameter('inductanceSquared'), mul(bend, abs(beyond))));
    return div(mul(f64(2), beyond), add(this.parameter('inductance'), root));
  }

  /** The stack's address is that of a number 0, which is loaded but never used. */
  #slot(number: Expression): Expression {
    return operation('i32.add', get(this.stack), operation('i32.mul', number, i32(2 * this.#laneBytes)));
  }
  #offset(later: number): number {
    return 2 * this.#laneBytes * later;
  }
}

const plus = (a: Expression, by: number): Expression => operation('i32.add', a, i32(by));

/** `noteReversal`; its number into `number`. */
function noteReversal(core: CoreMemory, number: Local): Statement[] {
  const beyond = local('f64', 'beyond');
  return [
    set(number, plus(core.count(), 1)),
    set(beyond, sub(core.of('last'), core.of('from'))),
    core.setFlux(get(number), core.of('last')),
    core.setAmperes(get(number), add(core.of('fromAmperes'), core.along(core.of('bend'), get(beyond)))),
  ];
}

/** `limitOf`. Both are loaded; what lies before the first reversal is some other number of the instance. */
function limitOf(core: CoreMemory, number: Local): Expression {
  return select(operation('i32.eq', get(number), i32(1)), neg(core.flux(get(number))), core.flux(plus(get(number), -1)));
}

/** `closeLoops` from `number` on, in it. */
function closeLoops(core: CoreMemory, number: Local, direction: Local, flux: Local): Statement {
  const loops = label('loops');
  return repeat(loops, [
    when(operation('i32.le_s', get(number), i32(0)), [leave(loops)]),
    when(operation('i32.eqz', gt(mul(get(direction), sub(get(flux), limitOf(core, number))), f64(0))), [leave(loops)]),
    set(number, select(operation('i32.eq', get(number), i32(1)), i32(0), plus(get(number), -2))),
    again(loops),
  ]);
}

function findBranchFunction(core: CoreMemory): FunctionCode {
  const itself = defineFunction('findBranch', core.all);
  const [number, direction, flux] = [local('i32', 'number'), local('f64', 'direction'), local('f64', 'flux')];
  itself.body.push(
    set(flux, core.cell('flux')),
    set(direction, core.of('direction')),
    when(ge(mul(get(direction), sub(get(flux), core.of('last'))), f64(0)), [set(number, core.count())], [...noteReversal(core, number), set(direction, neg(get(direction)))]),
    closeLoops(core, number, direction, flux),
    when(
      operation('i32.eqz', get(number)),
      [core.setCell('from', f64(0)), core.setCell('fromAmperes', f64(0)), core.setCell('bend', core.parameter('initialBend'))],
      [core.setCell('from', core.flux(get(number))), core.setCell('fromAmperes', core.amperes(get(number))), core.setCell('bend', core.parameter('bend'))],
    ),
  );
  return itself;
}

function moveFunction(core: CoreMemory, thinOut: FunctionCode): FunctionCode {
  const itself = defineFunction('moveCore', core.all);
  const [number, direction, flux] = [local('i32', 'number'), local('f64', 'direction'), local('f64', 'flux')];
  itself.body.push(
    set(flux, core.cell('flux')),
    set(direction, core.of('direction')),
    when(ge(mul(get(direction), sub(get(flux), core.of('last'))), f64(0)), [set(number, core.count())], [
      when(operation('i32.eqz', gt(mul(get(direction), sub(core.of('last'), get(flux))), core.parameter('deadband'))), [giveBack()]),
      when(operation('i32.eq', core.count(), i32(coreReversals)), [callOnly(thinOut, ...core.operands)]),
      ...noteReversal(core, number),
      set(direction, neg(get(direction))),
    ]),
    closeLoops(core, number, direction, flux),
    when(
      operation('i32.eqz', get(number)),
      [
        core.setOf('from', f64(0)), core.setOf('fromAmperes', f64(0)), core.setOf('bend', core.parameter('initialBend')),
        core.setOf('limit', mul(get(direction), f64(Infinity))),
      ],
      [
        core.setOf('from', core.flux(get(number))), core.setOf('fromAmperes', core.amperes(get(number))), core.setOf('bend', core.parameter('bend')),
        core.setOf('limit', limitOf(core, number)),
      ],
    ),
    core.setOf('direction', get(direction)),
    core.setOf('last', get(flux)),
    core.setOf('count', operation('f64.convert_i32_s', get(number))),
  );
  return itself;
}

function thinOutFunction(core: CoreMemory): FunctionCode {
  const itself = defineFunction('thinOut', core.all);
  const [k, end, out] = [local('i32', 'k'), local('i32', 'end'), local('i32', 'out')];
  const [least, change] = [local('f64', 'least'), local('f64', 'change')];
  const swing = (later: number): Expression => abs(sub(core.flux(get(k), later), core.flux(plus(get(k), -1), later)));
  itself.body.push(
    set(end, plus(core.count(), -1)),
    set(least, f64(Infinity)),
    set(out, i32(2)),
    ...countUp(k, i32(2), get(end), 1, [
      set(change, mul(sub(swing(0), swing(1)), sub(swing(1), swing(2)))),
      when(lt(get(change), get(least)), [set(least, get(change)), set(out, get(k))]),
    ]),
    ...countUp(k, get(out), get(end), 1, [
      core.setFlux(get(k), core.flux(get(k), 2)),
      core.setAmperes(get(k), add(core.amperes(plus(get(k), -1)), core.along(core.parameter('bend'), sub(core.flux(get(k)), core.flux(plus(get(k), -1)))))),
    ]),
    set(end, plus(get(end), -1)),
    core.setOf('count', operation('f64.convert_i32_s', get(end))),
    core.setOf('fromAmperes', core.amperes(get(end))),
  );
  return itself;
}

/** Operands of the functions for one lane of a core. */
function operandsOf(code: LaneCode, { core, firstParameter }: DeviceShape, lane: Expression): Expression[] {
  const { laneBytes, lane: { coreHeads, coreStacks, coreCells }, shared: { parameters } } = code.layout;
  const at = (base: Expression, offset: number): Expression => operation('i32.add', base, i32(offset));
  return [
    at(lane, coreHeads + laneBytes * coreHeadLength * core),
    // The address of a reversal of number 0: there the head's or the stack before it ends.
    at(lane, coreStacks + laneBytes * (coreStackLength * core - 2)),
    at(lane, coreCells + laneBytes * coreCellLength * core),
    at(code.base, parameters + laneBytes * firstParameter),
  ];
}

/** Which lanes go on along their branch to `flux` without closing a loop. */
function onBranch(code: LaneCode, { core }: DeviceShape, flux: Expression): Expression {
  const { lanes } = code;
  const head = (name: keyof typeof coreHead): Expression => code.load('coreHeads', coreHeadLength * core + coreHead[name]);
  const direction = code.keep('direction', head('direction'));
  const zero = code.constant(0);
  return code.keep('onBranch', lanes.and(
    lanes.ge(lanes.mul(direction, lanes.sub(flux, head('last'))), zero), lanes.le(lanes.mul(direction, lanes.sub(flux, head('limit'))), zero),
  ));
}

/** `callee` for each lane in which `mask` fails; the flux is in the cells. */
function callWhereFailing(code: LaneCode, shape: DeviceShape, mask: Expression, callee: FunctionCode): void {
  for (let lane = 0; lane < code.lanes.count; lane += 1) {
    const address = lane === 0 ? code.lane : operation('i32.add', code.lane, i32(8 * lane));
    code.statements.push(when(operation('i32.eqz', code.holds(mask, lane)), [callOnly(callee, ...operandsOf(code, shape, address))]));
  }
}

/** Current and slope at `flux`. */
export function coreCode(code: LaneCode, shape: DeviceShape, functions: CoreFunctions, flux: Expression): { readonly current: Expression; readonly slope: Expression } {
  const { lanes } = code;
  const { core, firstParameter } = shape;
  const cellAt = (name: keyof typeof coreCell): number => coreCellLength * core + coreCell[name];
  const parameter = (name: keyof typeof coreParameter): Expression => code.shared('parameters', firstParameter + coreParameter[name]);
  const branch = (['from', 'fromAmperes', 'bend'] as const).map((name) => {
    const variable = code.variable(name);
    code.set(variable, code.load('coreHeads', coreHeadLength * core + coreHead[name]));
    return [name, variable] as const;
  });
  const going = onBranch(code, shape, flux);
  code.when(code.fails(going), () => {
    code.store('coreCells', cellAt('flux'), flux);
    for (const [name, variable] of branch) code.store('coreCells', cellAt(name), get(variable));
    callWhereFailing(code, shape, going, functions.findBranch);
    for (const [name, variable] of branch) code.set(variable, code.load('coreCells', cellAt(name)));
  });
  const [from, fromAmperes, bend] = branch.map(([, variable]) => get(variable)) as [Expression, Expression, Expression];
  const beyond = code.keep('beyond', lanes.sub(flux, from));
  const root = code.keep('root', lanes.sqrt(lanes.add(parameter('inductanceSquared'), lanes.mul(bend, lanes.abs(beyond)))));
  const along = lanes.add(fromAmperes, lanes.div(lanes.mul(code.constant(2), beyond), lanes.add(parameter('inductance'), root)));
  const [saturating, saturatingSlope] = saturationCode(code, parameter, flux);
  const perGap = code.keep('perGap', parameter('perGap'));
  return {
    current: code.keep('i', lanes.add(lanes.add(along, saturating), lanes.mul(flux, perGap))),
    slope: code.keep('g', lanes.add(lanes.add(lanes.div(code.constant(1), root), saturatingSlope), perGap)),
  };
}

function saturationCode(code: LaneCode, parameter: (name: keyof typeof coreParameter) => Expression, flux: Expression): [Expression, Expression] {
  const { lanes } = code;
  const share = code.keep('share', lanes.mul(flux, parameter('perSaturation')));
  const squared = code.keep('squared', lanes.mul(share, share));
  const fourth = code.keep('fourth', lanes.mul(squared, squared));
  const eighth = code.keep('eighth', lanes.mul(fourth, fourth));
  const [current, slope] = [code.variable('saturating'), code.variable('saturatingSlope')];
  code.set(current, lanes.mul(lanes.mul(parameter('saturationAmperes'), eighth), share));
  code.set(slope, lanes.mul(parameter('saturationSlope'), eighth));
  const size = code.keep('size', lanes.abs(flux));
  const straight = code.keep('straight', lanes.gt(size, parameter('straightFlux')));
  code.when(code.holdsSomewhere(straight), () => {
    const further = code.keep('further', lanes.add(parameter('straightAmperes'), lanes.mul(parameter('straightSlope'), lanes.sub(size, parameter('straightFlux')))));
    code.set(current, lanes.choose(straight, lanes.choose(lanes.lt(flux, code.constant(0)), lanes.neg(further), further), get(current)));
    code.set(slope, lanes.choose(straight, parameter('straightSlope'), get(slope)));
  });
  return [get(current), get(slope)];
}

/** The memory moves on to `flux`. */
export function moveCoreCode(code: LaneCode, shape: DeviceShape, functions: CoreFunctions, flux: Expression): void {
  const { lanes } = code;
  const last = coreHeadLength * shape.core + coreHead.last;
  const going = onBranch(code, shape, flux);
  code.store('coreHeads', last, lanes.choose(going, flux, code.load('coreHeads', last)));
  code.when(code.fails(going), () => {
    code.store('coreCells', coreCellLength * shape.core + coreCell.flux, flux);
    callWhereFailing(code, shape, going, functions.move);
  });
}
