/** Straight-line code for one or two lanes: what is computed once is kept in a local, and memory is addressed by the layout's sections. */
import { get, i32, local, operation, set, when } from '../../webassembly/index.ts';
import type { Expression, InlineCode, Lanes, Local, Statement } from '../../webassembly/index.ts';
import { pooledConstants } from './memory-layout.ts';
import type { MemoryLayout } from './memory-layout.ts';

export class LaneCode {
  readonly lanes: Lanes;
  readonly layout: MemoryLayout;
  /** Address of the shared numbers, and of the lane numbers: the same, but for code that works on one lane of two. */
  readonly base: Expression;
  readonly lane: Expression;
  statements: Statement[] = [];

  constructor(lanes: Lanes, layout: MemoryLayout, base: Expression, lane: Expression = base) {
    this.lanes = {
      ...lanes,
      constant: (value) => {
        const place = pooledConstants.findIndex((pooled) => Object.is(pooled, value));
        return lanes.count === 1 || place < 0 ? lanes.constant(value) : lanes.load(base, layout.shared.constants + layout.laneBytes * place);
      },
    };
    this.layout = layout;
    this.base = base;
    this.lane = lane;
  }

  /** i32, for a branch: whether the mask fails in some lane. */
  fails(mask: Expression): Expression {
    return this.lanes.count === 1 ? operation('i32.eqz', mask) : operation('i32.ne', operation('i64x2.bitmask', mask), i32(3));
  }

  /** i32, for a branch: whether the mask holds in some lane. */
  holdsSomewhere(mask: Expression): Expression {
    return this.lanes.count === 1 ? mask : operation('i64x2.bitmask', mask);
  }

  /** In a new local. */
  keep(name: string, value: Expression): Expression {
    const variable = local(value.type, name);
    this.statements.push(set(variable, value));
    return get(variable);
  }

  variable(name: string): Local {
    return local(this.lanes.type, name);
  }

  set(variable: Local, value: Expression): void {
    this.statements.push(set(variable, value));
  }

  inline({ statements, value }: InlineCode): Expression {
    this.statements.push(...statements);
    return value;
  }

  constant(value: number): Expression {
    return this.lanes.constant(value);
  }

  shared(section: keyof MemoryLayout['shared'], k = 0): Expression {
    return this.lanes.load(this.base, this.layout.shared[section] + this.layout.laneBytes * k);
  }

  load(section: keyof MemoryLayout['lane'], k = 0): Expression {
    return this.lanes.load(this.lane, this.layout.lane[section] + this.layout.laneBytes * k);
  }

  store(section: keyof MemoryLayout['lane'], k: number, value: Expression): void {
    this.statements.push(this.lanes.store(this.lane, this.layout.lane[section] + this.layout.laneBytes * k, value));
  }

  /** What `write` writes, apart. */
  block(write: () => void): Statement[] {
    const outer = this.statements;
    const inner: Statement[] = [];
    this.statements = inner;
    write();
    this.statements = outer;
    return inner;
  }

  when(condition: Expression, then: () => void, otherwise: () => void = () => undefined): void {
    this.statements.push(when(condition, this.block(then), this.block(otherwise)));
  }

  /** Where `mask` holds in lane `which`: i32, 0 or not. */
  holds(mask: Expression, which: number): Expression {
    return this.lanes.count === 1 ? mask : operation('i32.and', operation('i64x2.bitmask', mask), i32(1 << which));
  }
}
