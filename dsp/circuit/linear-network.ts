/** The circuit linearised at an operating point: devices as the conductances of their Jacobian. */
import type { CircuitSystem } from './system.ts';

/** Subtracts `Si J P` from a size × size matrix: device d's block of the packed Jacobian at its control and current rows. */
export function addDeviceConductances(system: CircuitSystem, jacobian: Float64Array, matrix: Float64Array): void {
  const { devices } = system;
  for (let d = 0; d < devices.count; d += 1) {
    const firstControl = devices.controlOffsets[d]!;
    const endControl = devices.controlOffsets[d + 1]!;
    let at = devices.jacobianOffsets[d]!;
    for (let r = devices.currentOffsets[d]!; r < devices.currentOffsets[d + 1]!; r += 1) {
      for (let k = firstControl; k < endControl; k += 1) {
        addTransconductance(system, r, k, jacobian[at]!, matrix);
        at += 1;
      }
    }
  }
}

/** A current r leaving its first row and entering its second, in proportion to control k. */
function addTransconductance(system: CircuitSystem, r: number, k: number, siemens: number, matrix: Float64Array): void {
  const { size, controlRows, currentRows } = system;
  const signed = siemens * system.currentSigns[r]! * system.controlSigns[k]!;
  for (let end = 0; end < 2; end += 1) {
    const row = currentRows[2 * r + end]!;
    if (row < 0) continue;
    const leaving = end === 0 ? signed : -signed;
    const plus = controlRows[2 * k]!;
    const minus = controlRows[2 * k + 1]!;
    if (plus >= 0) matrix[row * size + plus]! += leaving;
    if (minus >= 0) matrix[row * size + minus]! -= leaving;
  }
}
