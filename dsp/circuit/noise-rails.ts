/** The supplies of a circuit: what they deliver at rest, how their ripple reaches the output, what current the signal draws from them. Small signals; not for the audio thread. */
import type { CircuitDocument } from './components.ts';
import { groundNode } from './document.ts';
import type { Complex } from './exact-response.ts';
import { eachSensitivity } from './noise-adjoint.ts';
import type { OperatingPoint } from './operating-point.ts';
import type { CircuitSystem } from './system.ts';

/** A source to ground counts as a supply rail if it delivers more than this: one that only marks a limit or a reference delivers next to nothing. */
const leastAmperes = 1e-6;

/** A voltage source between a node and ground that feeds the circuit. */
export interface Rail {
  readonly component: string;
  /** To ground. */
  readonly volts: number;
  /** Delivered at rest, > 0 whatever the sign of the rail. */
  readonly amperes: number;
}

export interface RailResponse extends Rail {
  /** Output volts per volt on the rail (towards `volts` of greater value, not of greater size), at each frequency. */
  readonly toOutput: readonly Complex[];
  /** Amperes out of the rail into the circuit per volt at the input, at each frequency; null for a circuit without input. */
  readonly drawnByInput: readonly Complex[] | null;
}

/** In the document's order. */
export function railsOf(document: CircuitDocument, system: CircuitSystem, point: OperatingPoint): Rail[] {
  return document.components.flatMap((component) => {
    if (component.kind !== 'voltage-source' || component.volts === 0) return [];
    const [a, b] = component.between;
    if ((a === groundNode) === (b === groundNode)) return [];
    // The branch current flows from the first node through the source to the second: a source that feeds has it negative where its volts are positive.
    const into = point.w[branchOf(system, component.name)]!;
    const amperes = component.volts > 0 ? -into : into;
    return amperes > leastAmperes ? [{ component: component.name, volts: b === groundNode ? component.volts : -component.volts, amperes }] : [];
  });
}

/** Responses of every rail of `document`, which `system` was assembled from, at frequencies > 0 Hz. */
export function railResponses(document: CircuitDocument, system: CircuitSystem, point: OperatingPoint, hz: readonly number[]): RailResponse[] {
  const rails = railsOf(document, system, point).map((rail) => {
    const [, second] = (document.components.find(({ name }) => name === rail.component) as { between: readonly [string, string] }).between;
    return { ...rail, branch: branchOf(system, rail.component), sign: second === groundNode ? 1 : -1, toOutput: [] as Complex[], drawnByInput: [] as Complex[] };
  });
  if (rails.length === 0) return [];
  eachSensitivity(system, point, hz, ({ re, im }) => {
    for (const { branch, sign, toOutput } of rails) toOutput.push({ re: sign * re[branch]!, im: sign * im[branch]! });
  });
  const { inputBranch } = system;
  if (inputBranch >= 0) {
    for (const { branch, sign, drawnByInput } of rails) {
      eachSensitivity(system, point, hz, ({ re, im }) => {
        drawnByInput.push({ re: -sign * re[inputBranch]!, im: -sign * im[inputBranch]! });
      }, [branch, -1]);
    }
  }
  return rails.map(({ component, volts, amperes, toOutput, drawnByInput }) => ({ component, volts, amperes, toOutput, drawnByInput: inputBranch >= 0 ? drawnByInput : null }));
}

function branchOf(system: CircuitSystem, component: string): number {
  return system.nodeNames.length + system.branchNames.indexOf(component);
}
