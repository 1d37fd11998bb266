/**
 * The products that make up I − K J over the ports, flat and in the order in which they are summed: for every port its controls ascending, for each
 * control the currents of its device ascending.
 */
import type { CircuitProgram } from './program.ts';

export interface NewtonTerms {
  /** Terms of port b: `starts[b] … starts[b + 1] − 1`. */
  readonly starts: Int32Array;
  /** Each term's place in the packed Jacobian, and the sign of its control. */
  readonly jacobianEntries: Int32Array;
  readonly signs: Float64Array;
  /** K of each row, in elimination order, at each term's current: ports × terms. */
  readonly gains: Float64Array;
}

export function newtonTerms({ topology, devices }: CircuitProgram, feedback: Float64Array): NewtonTerms {
  const { portCount, currentCount, controlPorts, controlSigns } = topology;
  const { count, controlOffsets, currentOffsets, jacobianOffsets } = devices;
  const starts = new Int32Array(portCount + 1);
  const terms: { entry: number; sign: number; current: number }[] = [];
  for (let port = 0; port < portCount; port += 1) {
    for (let d = 0; d < count; d += 1) {
      const firstControl = controlOffsets[d]!;
      const controls = controlOffsets[d + 1]! - firstControl;
      const firstCurrent = currentOffsets[d]!;
      for (let c = 0; c < controls; c += 1) {
        if (controlPorts[firstControl + c] !== port) continue;
        for (let current = firstCurrent; current < currentOffsets[d + 1]!; current += 1) {
          terms.push({ entry: jacobianOffsets[d]! + (current - firstCurrent) * controls + c, sign: controlSigns[firstControl + c]!, current });
        }
      }
    }
    starts[port + 1] = terms.length;
  }
  return {
    starts,
    jacobianEntries: Int32Array.from(terms, ({ entry }) => entry),
    signs: Float64Array.from(terms, ({ sign }) => sign),
    gains: Float64Array.from({ length: portCount * terms.length }, (_, at) => feedback[Math.floor(at / terms.length) * currentCount + terms[at % terms.length]!.current]!),
  };
}
