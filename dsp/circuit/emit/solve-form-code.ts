/** The two forms of the running solve, over the ports and over the nodes, behind one face: what is predicted, loaded, factored and solved. */
import type { Expression } from '../../webassembly/index.ts';
import { factorCode } from './factor-code.ts';
import type { KernelStructure } from './kernel-structure.ts';
import type { LaneCode } from './lane-code.ts';
import { loadEvaluated, predictPortsCode, solveStepCode } from './newton-code.ts';
import type { Evaluated } from './newton-code.ts';
import { factorNodalCode, loadNodal, predictSourcesCode } from './nodal-code.ts';
import type { Solvable } from './nodal-code.ts';

/** What the solves of a sample start from: p of the ports, also into memory; in the nodal form b, into memory alone. */
export function predictCode(code: LaneCode, structure: KernelStructure, input: Expression, states: readonly Expression[]): readonly Expression[] {
  const { nodal } = structure.topology;
  if (nodal === null) return predictPortsCode(code, structure, input, states);
  predictSourcesCode(code, nodal, input, states);
  return [];
}

/** As the last evaluation left it in memory. */
export function loadSolvable(code: LaneCode, structure: KernelStructure, ports: readonly Expression[]): Solvable {
  const { nodal } = structure.topology;
  if (nodal !== null) return loadNodal(code, nodal);
  const loaded = loadEvaluated(code, structure);
  return { usable: loaded.usable, solve: (portVolts, step) => solveStepCode(code, structure, ports, portVolts, loaded, loaded, step) };
}

/** The factors of an evaluation, also into memory. */
export function factorSolvable(code: LaneCode, structure: KernelStructure, ports: readonly Expression[], evaluated: Evaluated): Solvable {
  const { nodal } = structure.topology;
  if (nodal !== null) return factorNodalCode(code, structure, nodal, evaluated);
  const factored = factorCode(code, structure, evaluated.jacobian);
  return { usable: factored.usable, solve: (portVolts, step) => solveStepCode(code, structure, ports, portVolts, evaluated, factored, step) };
}
