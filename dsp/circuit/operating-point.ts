/**
 * Direct-current operating point: capacitors open, inductors shorts, all unknowns at once. Always the same cold homotopy, so that the
 * answer is a function of the circuit alone. Not for the audio thread.
 */
import { log10, pow10 } from '../math/index.ts';
import { CircuitError } from './document-errors.ts';
import { DirectCurrentNewton } from './direct-current-newton.ts';
import type { NewtonPoint } from './direct-current-newton.ts';
import { examineRank } from './rank.ts';
import { resolveSingularity } from './singularity.ts';
import type { RedundantRow } from './singularity.ts';
import type { CircuitSystem } from './system.ts';

export interface OperatingPoint {
  /** Node voltages in V, then branch currents in A; `system.size` of them. */
  readonly w: Float64Array;
  /** The devices' own control voltages in V (of cores, fluxes in V s, on the initial curve), and there currents (A) and packed Jacobian (S) for small signals. */
  readonly controls: Float64Array;
  readonly currents: Float64Array;
  readonly jacobian: Float64Array;
  /** Newton iterations over the whole homotopy. */
  readonly iterations: number;
  /** Equations that said nothing new at direct current; those without an inductor are redundant at every step. */
  readonly redundantRows: readonly RedundantRow[];
  /** Output voltage at rest in V. */
  readonly outputVolts: number;
  /** Voltage of a node to ground in V; throws `CircuitError` for a name the circuit does not have. */
  nodeVolts(name: string): number;
}

const firstLeakSiemens = 1e-3;
const lastLeakSiemens = 1e-12;
const supplyIncrement = 0.05;
const mostHalvings = 6;
/** Halvings with patient solves, once those are used up. */
const mostPatientHalvings = 2;

/**
 * Finds the operating point with the input held at `inputVolts` (besides its bias).
 *
 * Schedule: (a) 1 mS from every node to ground, supplies from 5 % to 100 % in steps of 5 %; (b) that leak down to 1 pS by decades;
 * (c) no leak. Each point starts from the last; one that fails is tried again with half the increment, six halvings in all. The
 * rank of the matrix without leak is examined before and after (c).
 * A circuit whose rest is known, since it was made from one that was found so, starts there instead.
 * Throws `CircuitError` for a circuit without a determined operating point, or when none is found.
 */
export function findOperatingPoint(system: CircuitSystem, inputVolts = 0): OperatingPoint {
  return new Homotopy(system, inputVolts).run();
}

interface Target {
  readonly supply: number;
  readonly leakSiemens: number;
}

class Homotopy {
  private readonly system: CircuitSystem;
  private readonly inputVolts: number;
  private readonly newton: DirectCurrentNewton;
  private readonly redundant: RedundantRow[] = [];
  private halvings = 0;
  /** Whether plain solves have been given up. */
  private patient = false;
  private iterations = 0;
  private controls: Float64Array;

  constructor(system: CircuitSystem, inputVolts: number) {
    this.system = system;
    this.inputVolts = inputVolts;
    this.newton = new DirectCurrentNewton(system, inputVolts, this.redundant);
    this.controls = new Float64Array(system.devices.controlCount);
  }

  run(): OperatingPoint {
    // Loops of sources are singular whatever the leak: they are settled before the first solve.
    this.settleLoops(firstLeakSiemens, false);
    const known = this.fromKnown();
    if (known !== null) return known;
    this.walk(0, 1, supplyIncrement, (supply) => ({ supply, leakSiemens: firstLeakSiemens }));
    this.walk(-log10(firstLeakSiemens), -log10(lastLeakSiemens), 1, (decades) => ({ supply: 1, leakSiemens: pow10(-decades) }));
    // Judged with the last leak's point: without leak a singular matrix would answer with rounding errors.
    this.settleLoops(0, true);
    let found = this.newton.solve(this.controls, 1, 0, this.patient);
    if (found.outcome !== 'found' && !this.patient) found = this.newton.solve(this.controls, 1, 0, true);
    if (found.outcome !== 'found') this.fail({ supply: 1, leakSiemens: 0 }, found);
    this.accept(found);
    this.settleLoops(0, true);
    return this.report(found);
  }

  /** From where the circuit is known to rest; null where that is not known, or Newton does not stay there. */
  private fromKnown(): OperatingPoint | null {
    const { knownControls } = this.system;
    if (knownControls === null || this.inputVolts !== 0) return null;
    const settled = this.redundant.length;
    this.controls = knownControls.slice();
    this.settleLoops(0, true);
    const found = this.newton.solve(this.controls, 1, 0, this.patient);
    if (found.outcome !== 'found') {
      this.redundant.length = settled;
      this.controls = new Float64Array(this.system.devices.controlCount);
      return null;
    }
    this.accept(found);
    this.settleLoops(0, true);
    return this.report(found);
  }

  /** From `start`, already reached, to `end`; the increment halves at a failure and stays halved until `end`. */
  private walk(start: number, end: number, increment: number, targetAt: (position: number) => Target): void {
    // Counted in whole steps of the smallest increment, so that 20 steps of 0.05 end at 1 exactly.
    const unit = increment / (1 << (mostHalvings + mostPatientHalvings));
    const last = Math.round((end - start) / unit);
    let stride = 1 << (mostHalvings + mostPatientHalvings);
    let position = 0;
    while (position < last) {
      const next = Math.min(last, position + stride);
      const target = targetAt(next === last ? end : start + next * unit);
      const point = this.newton.solve(this.controls, target.supply, target.leakSiemens, this.patient);
      if (point.outcome === 'found') {
        this.accept(point);
        position = next;
        continue;
      }
      this.iterations += point.iterations;
      if (!this.patient && this.halvings === mostHalvings) {
        this.patient = true;
        continue;
      }
      if (this.halvings === mostHalvings + mostPatientHalvings || stride === 1) this.fail(target, point);
      this.halvings += 1;
      stride /= 2;
    }
  }

  private accept(point: NewtonPoint): void {
    this.iterations += point.iterations;
    this.controls = point.controls;
  }

  /** Replaces redundant equations until the matrix at the point last reached has full rank. */
  private settleLoops(leakSiemens: number, nodesToo: boolean): void {
    const { size } = this.system;
    for (;;) {
      const report = examineRank(this.newton.matrixAt(this.controls, leakSiemens), size);
      if (report.rank === size) return;
      const resolved = resolveSingularity(this.system, report, this.newton.constant, this.newton.input, nodesToo);
      if (resolved === null) return;
      this.redundant.push(resolved);
    }
  }

  private fail({ supply, leakSiemens }: Target, point: NewtonPoint): never {
    if (point.outcome === 'singular') this.settleLoops(0, true);
    const where = supply < 1 ? `${Number((supply * 100).toPrecision(3))} % of the supplies`
      : leakSiemens > 0 ? `a leak of ${Number(leakSiemens.toPrecision(2))} S at every node` : 'the last step, without leak';
    throw new CircuitError(`no operating point found: stopped at ${where}, at ${this.controlName(point.worstControl)}`);
  }

  private controlName(control: number): string {
    const { names, controlNames, controlOffsets } = this.system.devices;
    const device = names.findIndex((_, d) => control >= controlOffsets[d]! && control < controlOffsets[d + 1]!);
    return device < 0 ? 'the linear equations' : `${names[device]!} ${controlNames[control]!}`;
  }

  private report({ w, controls }: NewtonPoint): OperatingPoint {
    const { system } = this;
    const { currents, jacobian } = this.newton.devicesAt(controls);
    const voltsAt = (row: number): number => (row < 0 ? 0 : w[row]!);
    return {
      w, controls, currents, jacobian,
      iterations: this.iterations,
      redundantRows: this.redundant,
      outputVolts: voltsAt(system.outputRows[0]) - voltsAt(system.outputRows[1]),
      nodeVolts(name) {
        const row = name === 'ground' ? -1 : system.nodeNames.indexOf(name);
        if (row < 0 && name !== 'ground') throw new CircuitError(`expected one of the nodes ${system.nodeNames.join(', ')}, got "${name}"`);
        return voltsAt(row);
      },
    };
  }
}
