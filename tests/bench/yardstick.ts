/** Writes a program as the numbers that yardstick.cpp reads; says where both end, so that they can be seen to compute the same thing. */
import { CircuitRunner, denseEquations, deviceKind } from '../../dsp/circuit/index.ts';
import type { CircuitProgram } from '../../dsp/circuit/index.ts';
import { driveVolts } from './kernels.ts';

/** The numbers in the order of yardstick.cpp, one a line. Diodes must stand before bipolar transistors; other devices are not known to it. */
export function yardstickNumbers(program: CircuitProgram): string {
  const { topology, devices, operatingPoint } = program;
  const { stateCount: n, controlCount: m, portCount, currentCount: r, controlPorts, controlSigns, eliminationOrder } = topology;
  const { controlOffsets } = program.instances[0]!;
  const rows = denseEquations(program);
  const bipolars = devices.kinds.filter((kind) => kind === deviceKind.bipolar).length;
  const diodes = devices.kinds.filter((kind) => kind === deviceKind.diode).length;
  if (bipolars + diodes !== devices.count || devices.kinds.some((kind, d) => kind === deviceKind.diode && d >= diodes)) {
    throw new RangeError(`"${program.title}": expected diodes, then bipolar transistors`);
  }
  const numbers: number[] = [n, bipolars, diodes, ...controlPorts];
  // A port's rows are those of its first control.
  const firsts = Array.from({ length: portCount }, (_, port) => controlPorts.indexOf(port));
  for (const row of firsts) {
    numbers.push(rows.portConstant[row]!, rows.portInput[row]!, ...rows.portMemory.subarray(row * n, (row + 1) * n), ...rows.portCurrent.subarray(row * r, (row + 1) * r));
  }
  for (let row = 0; row < n; row += 1) {
    numbers.push(rows.stateConstant[row]!, rows.stateInput[row]!, ...rows.stateMemory.subarray(row * n, (row + 1) * n), ...rows.stateCurrent.subarray(row * r, (row + 1) * r));
  }
  numbers.push(rows.outputConstant[0]!, rows.outputInput[0]!, ...rows.outputMemory, ...rows.outputCurrent);
  numbers.push(...devices.parameters);
  for (let k = 0; k < m; k += 1) numbers.push(devices.junctionWidthVolts[k]!, devices.junctionCriticalVolts[k]!, controlSigns[k]!, controlOffsets[k]!);
  firsts.forEach((first, port) => {
    const scaleVolts = Math.min(...devices.scaleVolts.filter((_, k) => controlPorts[k] === port));
    numbers.push(scaleVolts, eliminationOrder[port]!, operatingPoint.controlVolts[first]!);
  });
  numbers.push(...operatingPoint.stored, driveVolts.length, ...driveVolts);
  return `${numbers.join('\n')}\n`;
}

/** Output volts after the whole drive. */
export function lastOutputVolts(program: CircuitProgram): number {
  const buffer = driveVolts.slice();
  new CircuitRunner(program, 1).process([buffer], 0, buffer.length);
  return buffer[buffer.length - 1]!;
}
