/** Harmonic shaping stage: a small second and third harmonic put beside the signal, without a circuit. */
import type { StageDefinition } from '../contract.ts';
import { mechanisms } from './mechanisms.ts';
import { clipOutputDbu, readings, refuse, remarks } from './report.ts';
import { shapingProgram } from './program.ts';
import { parameters } from './table.ts';

export { HarmonicShapingRunner } from './runner.ts';
export { emitShaping, shapingModuleKey } from './emit/shaping-code.ts';
export { steadyShaping } from './steady-state.ts';

export const harmonicShaping: StageDefinition = {
  id: 'harmonic-shaping',
  title: 'Harmonic shaping stage',
  shortTitle: 'shaping',
  inverts: false,
  cautions: [],
  parameters,
  drawing: null,
  circuit: () => null,
  outputNetwork: () => null,
  mechanisms,
  refuse,
  program: (values, context) => shapingProgram(values, context.rateHz),
  report: (values) => ({ readings: readings(values), remarks: remarks(values), nodeVolts: {} }),
  clipOutputDbu: (values) => clipOutputDbu(values),
};
